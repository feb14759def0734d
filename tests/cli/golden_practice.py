"""What the meter answers in three cases, as it is printed; run as a module to write the golden files anew.

    .venv/bin/python -m tests.cli.golden_practice
"""

from __future__ import annotations

from io import StringIO
from pathlib import Path

from diagnose.cli.asker import Asker
from diagnose.cli.practice_case import Wanted, opened
from diagnose.cli.practice_dialogue import acted
from diagnose.store.practice_cases import case_path

GOLDEN = Path(__file__).parent / "golden_practice"
#: case -> acts, wrong use among them
ACTS: dict[str, str] = {
    "tray-earth-01": """\
volts tray chassis
ohms tray chassis running
volts charger_in charger_neg running
volts tray chassis running
ohms tray chassis isolated
repair high_resistance tray_strap
volts tray chassis running
diagnosis high_resistance tray_strap 90 %
stop
""",
    "sun-fuse-01": """\
amps output_cable sun_only
zero
amps output_cable sun_only
jumper house_pos house_fuse_load
volts charger_out house_pos sun_only
swap house_fuse
volts charger_out house_pos sun_only
remove
stop
""",
    "van-plug-02": """\
state running
volts plug_pos plug_neg
test_lamp plug_pos plug_neg
volts plug_neg socket_neg
look plug_negative
jumper plug_neg socket_neg
lamp charging
stop
""",
}
PLAIN = Wanted("acts.txt", False, False, None, None, None, "", None, None, True, True, False)


def transcript(case: str, width: int = 80) -> str:
    """Return what is printed while the acts of a case are done, its score apart."""
    out = StringIO()
    acted(opened(case_path(case)), Asker(None, out, plain=True), PLAIN, ACTS[case], width)
    return out.getvalue()


def main() -> None:
    """Write the golden files."""
    GOLDEN.mkdir(exist_ok=True)
    for case in ACTS:
        (GOLDEN / f"{case}.txt").write_text(transcript(case), encoding="utf-8")


if __name__ == "__main__":
    main()
