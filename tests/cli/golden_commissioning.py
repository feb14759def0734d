"""Two commissionings of one crew-cab, handed over and come back; run as a module to write the example files anew.

    .venv/bin/python -m tests.cli.golden_commissioning

The second time its tray strap has corroded. The vehicle is simulated and invented.
"""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from diagnose import __version__
from diagnose.commissioning.progress import Commissioning, StepEvent
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.commissioning_jobs import KIND, step_data
from diagnose.store.installations import load_layout
from diagnose.store.jobs import first_line
from diagnose.store.jobs_record import JobRecord
from tests.commissioning.vehicles import base, begun, hypothesis, typed

LAYOUT, SEED = "crew_cab_tray", 707
EXAMPLES = Path(__file__).resolve().parents[2] / "cases" / "examples"
#: file -> the fault of the strap [ohm; None: none], the date, who
TIMES = {
    "tray_handed_over.jsonl": (None, "2026-03-02", "R. Sample"),
    "tray_come_back.jsonl": (0.012, "2026-10-19", "K. Sample"),
}


def vehicle(size: float | None) -> SimulatedVehicle:
    """Return the crew-cab, sound or with its strap corroded."""
    hidden = hypothesis(LAYOUT, "high_resistance tray_strap" if size is not None else "")
    if hidden.fault is not None:
        hidden = hidden._replace(fault=hidden.fault._replace(size=size))
    rules, tables = base()
    return SimulatedVehicle(load_layout(LAYOUT), rules, tables, hidden, SEED)


def commissioned(size: float | None) -> Commissioning:
    """Return the commissioning of the crew-cab, every step answered; the drain by a clamp for milliamperes."""
    job = begun(LAYOUT)
    for name, text in typed(job, vehicle(size)):
        rule = name.partition(":")[0]
        fine = rule in ("drain", "drain_again", "input_idle", "input_idle_again")
        answer = "0.02 within 0.01" if fine else text
        job.feed(StepEvent("answer", name, answer, temperature=21.0, meter="multimeter and DC clamp"))
    return job


def write(folder: Path) -> None:
    """Write both example files."""
    for file, (size, date, who) in TIMES.items():
        first = first_line(load_layout(LAYOUT), LAYOUT, None, __version__, 1, date)
        first |= {"job": KIND, "name": who, "date": date, "meter": "multimeter and DC clamp", "temperature": 21.0}
        with TemporaryDirectory() as made:
            with JobRecord.begin(Path(made), "job", first) as record:
                for event in commissioned(size).events:
                    record.append(step_data(event))
            (folder / file).write_bytes(record.path.read_bytes())


if __name__ == "__main__":
    write(EXAMPLES)
