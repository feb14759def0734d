"""A ranking and expected readings made by hand, with something in every field."""

from __future__ import annotations

from diagnose.model.causes import LikelyCause
from diagnose.model.expected import Expected, Limit
from diagnose.model.fault import FaultAt
from diagnose.model.ranking import Doubt, Entry, NextTest, Ranking, Reason, Size, Stop, WhyNot
from diagnose.model.reading import Take

STRAP = FaultAt("high_resistance", "tray_strap")
LEAD = FaultAt("wrong_connection", "ignition_lead", "ignition_out", "house_pos")
SOUND_DROP = "sound is 0 V to 0.03 V here"
AGAINST = "volts from charger input stud to charger negative stud: 12.90 V; sound is 12.71 V to 13.46 V here"
DROP = Take("volts", ("tray", "chassis"), "engine_running")
INPUT = Take("volts", ("charger_in", "charger_neg"), "engine_running", jumper=("tray", "chassis"))

RANKING = Ranking(
    readings_used=4,
    faults=(
        Entry(
            STRAP, "high resistance", 0.9123456789, 21.4321987, Size(0.0851234567, 0.04, 0.19, "ohm"), True,
            (Reason(2, 14.1234567, f"0.620 V is lost between tray floor and chassis stud; {SOUND_DROP}"),),
            (Reason(4, -1.5, "look tray strap: good"),),
            "Clean the joint to bright metal, bolt it tight, seal it.",
            "Under load less than 0.05 V is lost across it.",
            alternatives=(FaultAt("high_resistance", "engine_strap"),),
            causes=(
                LikelyCause(
                    "corroded_joint", "corroded joint", 0.6212345678, "Damp and salt have grown between the faces.",
                    "Clean the joint to bright metal, bolt it tight, seal it.", "Under load less than 0.05 V is lost.",
                ),
                LikelyCause(
                    "paint_under_lug", "paint or anodising under a lug, so that the bolt alone carries the current",
                    0.2, "The lug sits on paint.", "Bare the metal.", "Less than 0.05 V is lost.",
                ),
                LikelyCause("loosened_joint", "loosened joint", 0.04, "It is slack.", "Tighten it.", "It holds."),
            ),
        ),
        Entry(
            LEAD, "lead on the wrong place", 0.0512345, -3.2, None, False, (), (), "not proved yet", "proof",
            together=(STRAP,),
        ),
        Entry(FaultAt("blown", "input_fuse"), "blown fuse", 0.0001, -12.0, None, False, (), (), "r", "p"),
    ),
    no_fault=0.0163200211,
    no_fault_because=(("battery_full", 0.81234567),),
    unlisted=0.02,
    doubtful=(Doubt(3, 0.9312345, "12.90 V to 13.30 V", "charger input reads 9.1 V; take it again"),),
    next=(
        NextTest(
            DROP, 2.0, 0.81234567,
            (("high_resistance tray_strap", "0.55 V to 0.75 V"), ("nothing wrong", "0 V to 0.03 V")),
            "it tells high_resistance tray_strap from nothing wrong at 0.41 bits a minute",
            ("Engine running: open air, out of gear, park brake on, hands and sleeves away from belts and fans.",),
        ),
        NextTest(INPUT, 5.0, 0.3, (), "it helps", ()),
        NextTest(Take("look", ("tray_strap",), "at_rest"), 1.5, 0.1, (), "it helps", ()),
    ),
    stop=None,
    no_fault_says=("the battery is simply full. It takes little. To see it otherwise: draw on it, then read again.",),
)  # fmt: skip
SOUND = RANKING._replace(faults=(), no_fault=0.93, next=(), stop=Stop("no_fault", "nothing is wrong"))
FOUND = RANKING._replace(stop=Stop("found", "high resistance at tray_strap: repair it, then prove it by a reading"))
DANGER = RANKING._replace(
    stop=Stop("danger", "reading 1: house_battery is swollen"), next=(),
    dangers=("reading 1: house_battery: it is swollen: do not charge it, keep away from it",),
)  # fmt: skip
WHY_NOT = WhyNot(
    "wrong_connection ignition_lead ignition_out house_pos", 0.00012,
    (Reason(1, -21.5, AGAINST),), AGAINST,
)  # fmt: skip

EXPECTED = (
    Expected(
        INPUT._replace(jumper=None), 13.12345678, 12.71, 13.46, "V",
        Limit(12.4, 15.5, "below its stop voltage the charger switches off"), (("unsteady", 0.0312345678),),
    ),
    Expected(Take("lamp", ("charging",), "engine_running"), None, None, None, "", None, (("on", 0.98), ("off", 0.02))),
    Expected(Take("ohms", ("tray", "chassis"), "isolated"), 0.2, 0.105, 0.298, "ohm", None, ()),
)  # fmt: skip
