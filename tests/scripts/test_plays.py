"""Scripts played with simulated vehicles, whose owners mistake some answers and cannot give others, beside the same
calls with every question chosen afresh.
"""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.evaluation.beside import Beside
from diagnose.inference.complaints import complaint_ratio, match_complaint
from diagnose.inference.prior import prior_of
from diagnose.inference.symptoms import symptom_ratios
from diagnose.model.reading import Read, Take
from diagnose.model.script import End
from diagnose.prediction.hypotheses import SOUND, Hypothesis, all_hypotheses
from diagnose.prediction.solving import sizes_of
from diagnose.prediction.streams import Streams
from diagnose.scripts.compiling import Sources, table_of
from diagnose.scripts.deciding import needs, owner_acts, part_for
from diagnose.scripts.noticing import LEAST, SHARE, VOLTS, WORD, noticed_by
from diagnose.scripts.playing import play, play_afresh
from diagnose.simulation.vehicle import SimulatedVehicle
from tests.scripts.orders import COMPLAINT, EYES, LAMP, METER, made, ordered, sources

#: installations of four kinds that calls are played about
PLAYED = ("crew_cab_tray", "canopy", "boat_bus_bar", "van_lfp_seat")
#: share of vehicles without a fault, of answers mistaken, of answers that cannot be given
NOTHING, WRONG, CANNOT = 0.2, 0.03, 0.1
#: what a visit costs, and what it costs that a fault stays some days more [min], as the rule base has them
WAY, LATE = 90.0, 90.0


def noticed(vehicle: SimulatedVehicle, twin: SimulatedVehicle) -> bool:
    """Return whether an owner would call about a vehicle: a light, a load or a battery is not as on its twin."""
    fault = vehicle.hidden.fault
    assert fault is not None
    if vehicle.installation.parts[fault.part].kind == "battery":
        return True
    for take in noticed_by(vehicle.installation):
        words = vehicle.words(take)
        if words is not None:
            usual = twin.words(take) or {}
            if max(abs(words[w] - usual.get(w, 0.0)) for w in words) > WORD:
                return True
            continue
        own, other = vehicle.shown(take).high, twin.shown(take).high
        least = max(SHARE * abs(other), LEAST) if take.quantity == "amps" else VOLTS
        if abs(own - other) > least:
            return True
    return False


def heard(vehicle: SimulatedVehicle, twin: SimulatedVehicle) -> float:
    """Return how often the complaint of the script is heard of a vehicle for what shows, beside the most it can be."""
    rule = vehicle.rules.complaints[COMPLAINT]
    ratios = symptom_ratios(rule, vehicle.installation, Beside([twin, vehicle]))
    most = np.prod([max(s.ratio, s.otherwise) for s in rule.shows])
    return 1.0 if ratios is None else float(ratios[1, 0] / most)


def vehicle_of(number: int, told: Sources, pool: list[Hypothesis], weights: np.ndarray) -> SimulatedVehicle:
    """Return the vehicle of a number: sound, or with a fault that brings a call."""
    chance = np.random.Generator(np.random.PCG64([number, 5]))
    sound = chance.random() < NOTHING
    while True:
        seed = int(chance.integers(1, 2**31))
        twin = SimulatedVehicle(told.installation, told.rules, told.tables, SOUND, seed, wrong=WRONG)
        if sound:
            return twin
        drawn = pool[int(chance.choice(len(pool), p=weights))]
        assert drawn.fault is not None
        assert drawn.rule is not None
        if drawn.rule.size is not None or drawn.rule.change == "profile":
            size = float(sizes_of(drawn, told.installation, Streams(seed, 1))[0])
            drawn = drawn._replace(fault=drawn.fault._replace(size=size))
        vehicle = SimulatedVehicle(told.installation, told.rules, told.tables, drawn, seed, wrong=WRONG)
        try:
            if noticed(vehicle, twin) and chance.random() < heard(vehicle, twin):
                return vehicle
        except RuntimeError:  # a vehicle for which the circuit has no solution is no vehicle
            continue


class Caller:
    """An owner on the telephone: mistakes some answers, cannot give others; the same question has the same answer."""

    def __init__(self, number: int, vehicle: SimulatedVehicle) -> None:
        self._vehicle, self._chance = vehicle, np.random.Generator(np.random.PCG64([number, 99]))
        self._known: dict[Take, Read] = {}

    def __call__(self, take: Take, danger: bool) -> Read:
        if take not in self._known:
            cannot = self._chance.random() < CANNOT
            said = Read("skipped", "skipped") if cannot else self._vehicle.told(take)
            self._known[take] = said
        return self._known[take]


def brings(end: End, part: str | None, told: Sources) -> bool:
    """Return whether a part is on the van list of an end."""
    return part is None or any(told.words.bring[part].partition("{")[0] in text for text in end.bring)


def cost(need: bool, send: bool, part: bool) -> float:
    """Return what a decision cost [min]: a visit in vain, or one that came late, or one without the part."""
    if send:
        return WAY + (0.0 if part or not need else WAY)
    return WAY + LATE if need else 0.0


def right(need: bool, send: bool, danger: bool) -> bool:
    """Return whether what was done was right: a sign of danger that is told is stopped for, whatever is wrong; else a
    person is sent if one is needed.
    """
    return danger or send == need


def scores(
    tools: tuple[str, ...], first: int, count: int, layout: str = "crew_cab_tray"
) -> dict[str, dict[str, float]]:
    """Return of a script and of choosing afresh, on the same callers with the same answers: the shares of right
    decisions, of those that were right if a danger told by mistake is no reason to stop (`strictly`), of right parts
    where a person is needed, and what their ends cost [min].
    """
    told, order, script = sources(layout), ordered(tools), made(layout, tools, 8)
    table = table_of(told, order)
    every = all_hypotheses(told.installation, told.rules)
    rule = match_complaint(order.complaint, told.rules)
    prior = prior_of(every, [complaint_ratio(rule, h, told.installation) for h in every])[1:]
    can = owner_acts(told.words.owner_can, order.allowed)
    names = ("right", "strictly", "part", "spent")
    found: dict[str, dict[str, list[float]]] = {who: {name: [] for name in names} for who in ("script", "afresh")}
    for number in range(first, first + count):
        vehicle = vehicle_of(number, told, list(every[1:]), prior / prior.sum())
        caller = Caller(number, vehicle)
        need, part = needs(vehicle.hidden, told.installation, can), part_for(vehicle.hidden, told.installation)
        played, afresh = play(script, caller), play_afresh(told, order, table, caller)
        end, other = played.end, part is None or part in afresh.decision.bring
        for who, send, has, danger in (
            ("script", end.send, brings(end, part, told), end.end == "danger"),
            ("afresh", afresh.decision.send, other, afresh.because == "danger"),
        ):
            found[who]["right"].append(right(need, send, danger))
            found[who]["strictly"].append(send == need)
            found[who]["spent"].append(cost(need, send, has))
            found[who]["part"] += [send and has] if need else []
    return {who: {name: float(np.mean(v)) for name, v in values.items()} for who, values in found.items()}


def test_every_call_comes_to_an_end_within_its_questions() -> None:
    script, told, order = made("crew_cab_tray", EYES, 8), sources("crew_cab_tray"), ordered(EYES)
    for number in range(6):
        vehicle = SimulatedVehicle(told.installation, told.rules, told.tables, SOUND, number + 1, wrong=WRONG)
        played = play(script, Caller(number, vehicle))
        takes = [question.take for question, _ in played.asked]
        assert len(set(takes)) == len(takes) <= order.depth
        assert played.minutes > 0


@pytest.mark.slow
@pytest.mark.parametrize(("tools", "least"), [(EYES, 0.8), (LAMP, 0.8), (METER, 0.9)])
def test_a_script_does_nearly_as_well_as_choosing_afresh(tools: tuple[str, ...], least: float) -> None:
    """The same callers give both the same answers; the figures are printed: run it with -s to read them.

    What a call saves is counted against the worst, a call that leaves a fault and brings a second visit.
    """
    found = [scores(tools, 30000, 100, layout) for layout in PLAYED]
    print(tools, dict(zip(PLAYED, found, strict=True)))
    names = found[0]["script"]
    script, afresh = ({n: float(np.mean([f[who][n] for f in found])) for n in names} for who in ("script", "afresh"))
    print(tools, "over all", script, afresh)
    assert WAY + LATE - script["spent"] >= 0.95 * (WAY + LATE - afresh["spent"])
    assert script["part"] >= afresh["part"] - 0.02
    assert script["right"] >= least
    assert script["part"] >= least
