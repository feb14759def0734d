"""A hand-over record made by hand, with something in every field: invented, of no vehicle that is."""

from __future__ import annotations

from diagnose.model.commissioning import Baseline, CommissioningRecord, CommissioningStep, Judgement, StepResult
from diagnose.model.expected import Limit
from diagnose.model.reading import Read, Reading, Take

__all__ = ["COMPARED", "HOSTILE", "LONG", "RECORD", "hostile_record"]

HOSTILE = "<script>alert(1)</script>\"'&{{7*7}}</title>|**x**\n# y"
LAMP = "Hands, sleeves and leads clear of belts and fans; open air, out of gear, park brake on."
LOAD = ("Switch loads on or run the house battery down, raise the engine speed to 1,200 rev/min or more, "
        "and read the volts and the current again together.")  # fmt: skip
CARDS = "Test cards of the trade, common practice: volts lost in a joint under load, most 0.05 V"
BOOK = "Electrical relays and contactors, clause on screw terminals, torque by diameter of the stud; from memory"


def step(name: str, title: str, take: Take | None, why: str, limit: Limit | None = None, **more: object) -> StepResult:
    asked = CommissioningStep(
        name, name.partition(":")[0], title, take, "" if take else f"{title}?", take.when if take else "at_rest",
        (LAMP,) if take and "engine" in take.when else (), "Probe as said.", limit, CARDS if take else BOOK, (),
        wants="" if take else "yes", judge="value" if take else "word", why=why, **more,  # type: ignore[arg-type]
    )  # fmt: skip
    return StepResult(asked, "NOT DONE")


def read(row: StepResult, text: str, value: float | None, **more: object) -> StepResult:
    kind = "word" if value is None else "number"
    typed = Reading(row.step.take, Read(kind, text, value, word=text if value is None else None))
    place = row.step.take.where if row.step.take else ()
    row = row._replace(reading=typed, probes=place, time="2026-03-02T10:42", meter="meter one")
    return row._replace(verdict="PASS")._replace(**more)  # type: ignore[arg-type]


RUNNING = "engine_running"
JOINT = Limit(None, 0.05, "more than this in one joint heats it and lowers what the charger sees")
CHECKS = (
    read(step("fixed:house_battery", "House battery clamped on its tray", None,
              "A battery that moves wears its cable through and breaks its posts."), "yes", None),
    read(step("retightened:charger_in", "Torque at charger input stud", None,
              "A stiff locking nut can eat the whole torque of a small stud."), "8 mm 12 Nm drag 3 Nm", None),
)  # fmt: skip
DROP = read(
    step("joint_drop:tray_strap", "Volts lost in the joint of tray strap at chassis stud",
         Take("volts", ("tray", "chassis"), RUNNING), "The resistance of each joint on day one is what later readings "
         "are held against.", JOINT, scales=True), "0.012 V", 0.012, current=48.0, temperature=21.0,
    by_limit=Judgement("PASS", None, 0.05, "0.013 V at the full 50 A"),
    by_model=Judgement("PASS", 0.004, 0.02, "0.24 milliohm, as expected"), says="0.013 V at the full 50 A",
)  # fmt: skip
ZERO = read(
    step("no_backfeed:charger", "No current into the charger an hour after the engine stopped",
         Take("amps", ("charger@charger_in",), "at_rest"), "A charger that never sleeps empties the starter battery."),
    "-0.00 A", -0.0, by_model=Judgement("PASS", -0.0001, 0.02, "asleep"), says="0 A", meter="clamp meter",
)  # fmt: skip
FAILED = read(
    step("leg_drop:positive", "Volts lost in the positive leg from starter battery to charger input",
         Take("volts", ("start_pos", "charger_in"), RUNNING), "What is lost here is heat, and the charger runs short.",
         Limit(None, 0.36, "3 % of 12 V, both legs together")), "0.30 V", 0.30, verdict="FAIL", current=50.0,
    temperature=24.0, by_limit=Judgement("PASS", None, 0.36, "below 0.36 V"),
    by_model=Judgement("FAIL", 0.08, 0.16, "0.12 V is expected at 50 A: 0.18 V more is 9 W in one place"),
    says="far above what this cable and its joints lose at 50 A",
)  # fmt: skip
LOOKED = read(
    step("output_volts:charger", "Volts at the house battery while it charges",
         Take("volts", ("house_pos", "house_neg"), RUNNING), "The profile must be that of the battery.",
         Limit(13.2, 14.6, "of the chemistry of this battery")), "14.41 V", 14.41, verdict="LOOK",
    by_limit=Judgement("PASS", 13.2, 14.6, "within"), by_model=Judgement("LOOK", 13.62, 14.38, "slightly high"),
    says="0.03 V above what is expected here",
)  # fmt: skip
INVALID = read(
    step("output_current:charger", "Current out of the charger", Take("amps", ("charger@charger_out",), RUNNING),
         "The charger must give what it is rated for.", Limit(36.0, None, "0.9 of the rating")), "8.2 A", 8.2,
    verdict="INVALID", says="the house battery is nearly full and takes little", makes_valid=LOAD,
    by_limit=Judgement("INVALID", 36.0, None, "too little current to judge"),
)  # fmt: skip
SKIPPED = step("panel_volts:panel", "Volts of the panel in full sun", Take("volts", ("house_pos", "house_neg"),
               "sun_only"), "A panel joined the wrong way round shows here first.")  # fmt: skip

RECORD = CommissioningRecord(
    "Invented crew cab with tray",
    (("Layout", "crew cab with tray"), ("Starter battery", "flooded lead, 80 Ah"),
     ("House battery", "lithium iron phosphate, 100 Ah"), ("Charger", "40 A, with ignition sense")),
    ("meter one: multimeter, 0.5 % and 2 digits; 12.71 V on a battery known to be 12.70 V",
     "clamp meter: 2 % and 3 digits, zeroed before each reading"),
    (*CHECKS, ZERO, DROP, FAILED, LOOKED, INVALID, SKIPPED),
    (Baseline("tray_strap", ("tray", "chassis"), 0.00025, 0.000021),
     Baseline("engine_strap", ("chassis", "start_neg"), 0.00031, 0.000104)),
    ("leg_drop:positive failed: volts lost in the positive leg", "panel_volts:panel was not done: no sun"),
    (LAMP, "Nothing is switched on before a polarity that failed is put right."),
    ("Tighten charger input stud once more to its torque", "Temperature of input fuse after 30 minutes under load"),
    "A. Trainee", "2026-03-02", "0.1.0", "5f0c1d7a99e1b2c3", "0a4be77d10f2c6a8",
)  # fmt: skip

#: 45 steps, as many as a large installation has; the words are as long as those of a real record
LONG = RECORD._replace(
    rows=tuple(row._replace(time=f"2026-03-02T{10 + n // 20}:{n:02d}")
               for n, row in enumerate((*(CHECKS * 9), *((DROP, ZERO) * 10), FAILED, LOOKED, LOOKED, INVALID, INVALID,
                                        SKIPPED, SKIPPED))),
    installation=(*RECORD.installation, ("Cable, starter battery to charger", "16 mm2, 4.2 m each way"),
                  ("Input fuse", "60 A, 0.2 m from the post"), ("Output fuse", "60 A, 0.3 m from the post")),
    baseline=RECORD.baseline * 6, recheck=RECORD.recheck * 4, open_points=RECORD.open_points * 2,
)  # fmt: skip
COMPARED = (
    (RECORD.baseline[0], RECORD.baseline[0]._replace(ohms=0.00142, uncertainty=0.00003), True),
    (RECORD.baseline[1], RECORD.baseline[1]._replace(ohms=0.00034), False),
    (Baseline("input_fuse", ("start_pos", "charger_in"), 0.0021, 0.0002), None, False),
)


def hostile_record() -> CommissioningRecord:
    """Return a record with hostile text in every field that holds words."""
    judged = Judgement("FAIL", 0.0, 1.0, HOSTILE)
    asked = INVALID.step._replace(
        id=HOSTILE, rule=HOSTILE, title=HOSTILE, question=HOSTILE, state=HOSTILE, cautions=(HOSTILE,), how=HOSTILE,
        limit=Limit(0.0, None, HOSTILE), source=HOSTILE, judges=(HOSTILE,), phase=HOSTILE, judge="word", wants=HOSTILE,
        why=HOSTILE, makes_valid=HOSTILE, group=HOSTILE, recheck=HOSTILE,
    )  # fmt: skip
    row = StepResult(
        asked, "INVALID", judged, judged, Reading(asked.take, Read("word", HOSTILE)), HOSTILE, 20.0, 1.0, HOSTILE,
        (HOSTILE, HOSTILE), HOSTILE, HOSTILE,
    )  # fmt: skip
    question = row._replace(step=asked._replace(take=None, limit=None), meter=HOSTILE + "2")
    return CommissioningRecord(
        HOSTILE, ((HOSTILE, HOSTILE),), (HOSTILE,), (row, question),
        (Baseline(HOSTILE, (HOSTILE, HOSTILE), 0.001, 0.0001),), (HOSTILE,), (), (HOSTILE,), HOSTILE, HOSTILE, HOSTILE,
        HOSTILE + "f" * 64, HOSTILE,
    )  # fmt: skip
