"""One whole walk for each layout, as it is printed; run as a module to write the golden files anew.

    .venv/bin/python -m tests.cli.golden_walks
"""

from __future__ import annotations

import sys
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory

from diagnose import __version__
from diagnose.cli.asker import Asker
from diagnose.cli.walk_dialogue import View, ask_all
from diagnose.session.steps import Finding
from diagnose.session.walk import Session
from diagnose.store.jobs import first_line
from diagnose.store.jobs_form import event_data
from diagnose.store.jobs_record import JobRecord
from tests.session.drivers import Bench, adviser, hypothesis

GOLDEN = Path(__file__).parent / "golden"
EXAMPLE = "crew_cab_tray"
JOB = Path(__file__).resolve().parents[2] / "cases" / "examples" / "crew_cab_tray_job.jsonl"
#: layout -> fault, complaint as typed, and the seed of the vehicle
WALKS: dict[str, tuple[str, str, int]] = {
    "boat_bus_bar": ("high_resistance charger_return", "battery never fills on the boat", 4),
    "camper_trailer": ("high_resistance plug_negative", "trailer battry never charges", 5),
    "canopy": ("blown input_fuse", "no lights at all", 6),
    "caravan_tow_plug": ("open_circuit plug_positive", "caravan battery never charges", 7),
    "crew_cab_tray": ("high_resistance tray_strap", "wont charge while driveing", 3),
    "engine_bay_pair": ("high_resistance charger_earth", "charges slow", 8),
    "motorhome_variable": ("blown ignition_fuse", "fine on mains but not when driving", 9),
    "portable_panel": ("open_circuit plug_positive", "solar does nothing", 10),
    "relay_pair": ("open_circuit coupling_relay", "second battery not charging", 11),
    "solar_only_van": ("blown house_fuse", "solar dosnt work", 12),
    "van_lfp_seat": ("open_circuit charger_earth", "wont charge on the road", 13),
}


class Typist(Bench):
    """Somebody who types, with a complaint."""

    complaint = "none"

    def readline(self, size: int = -1) -> str:
        if self.session.facts.state == "complaint":
            super().readline()
            return f"{self.complaint}\n"
        return super().readline()


def transcript(layout: str, width: int = 80) -> str:
    """Return a whole walk as it is printed, without colour."""
    label, complaint, seed = WALKS[layout]
    typist = Typist(layout, hypothesis(layout, label), seed)
    typist.complaint = complaint
    typist.session = Session(adviser(layout))
    out = StringIO()
    ask_all(Asker(typist, out, plain=True), typist.session, View(width), lambda event, session: None, layout)
    return out.getvalue()


def example_job() -> None:
    """Write the record of the walk of EXAMPLE anew, as `diagnose walk` would have kept it."""
    label, _, seed = WALKS[EXAMPLE]
    bench = Bench(EXAMPLE, hypothesis(EXAMPLE, label), seed)
    session = Session(adviser(EXAMPLE))
    with TemporaryDirectory() as folder:
        head = first_line(bench.installation, EXAMPLE, None, __version__, 1, "2026-11-25")
        with JobRecord.begin(Path(folder), "job", head) as record:
            while not isinstance(session.step, Finding):
                event = bench.event(session.step)
                session.feed(event)
                record.append({**event_data(event), "state": session.facts.state})
            JOB.write_bytes(record.path.read_bytes())


def main(names: list[str]) -> None:
    """Write the golden files of some layouts, or of all."""
    GOLDEN.mkdir(exist_ok=True)
    if not names or EXAMPLE in names:
        example_job()
    for layout in names or WALKS:
        (GOLDEN / f"{layout}.txt").write_text(transcript(layout), encoding="utf-8")
        print(layout)


if __name__ == "__main__":
    main(sys.argv[1:])
