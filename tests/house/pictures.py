"""Draws the three stories of README.md from what the real program prints.

    python -m tests.house.pictures        draws them anew

It shows lines of the program as they are, and marks where some are left out; it writes no word of its own.
"""

from __future__ import annotations

import html
import io
import os
import re
import shlex
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console
from rich.terminal_theme import TerminalTheme
from rich.text import Text

from tests.house.documents import ROOT

__all__ = ["FOLDER", "STORIES", "Story", "picture", "printed", "shown", "words_of"]

FOLDER = ROOT / "cases" / "examples" / "pictures"
WIDTH = 82
#: stands where lines are left out
CUT = "[...]"
THEME = TerminalTheme((255, 255, 255), (34, 34, 34), [(34, 34, 34)] * 8)
# No address in it: a picture fetches nothing, and takes whatever even font there is.
FORM = """<svg class="rich-terminal" viewBox="0 25 {width} {height}" xmlns="http://www.w3.org/2000/svg">
<style>
.{unique_id}-matrix {{ font-family: "DejaVu Sans Mono", "Liberation Mono", Consolas, monospace;
font-size: {char_height}px; line-height: {line_height}px; }}
{styles}
</style>
<defs><clipPath id="{unique_id}-clip-terminal">
<rect x="0" y="0" width="{terminal_width}" height="{terminal_height}" />
</clipPath>{lines}</defs>
<rect x="1" y="26" width="99%" height="98%" rx="8" fill="#ffffff" stroke="#bbbbbb" />
<g transform="translate({terminal_x}, {terminal_y})" clip-path="url(#{unique_id}-clip-terminal)">
{backgrounds}<g class="{unique_id}-matrix">
{matrix}
</g></g>
</svg>
"""


@dataclass(frozen=True)
class Story:
    """A picture: its name, the command line, and the stretches shown, each by the start of its first and last line."""

    name: str
    command: str
    stretches: tuple[tuple[str, str], ...]


STORIES = (
    Story(
        "installer", "diagnose check crew_cab_tray",
        (("Crew-cab tray utility", "  PASS  input_cable: 16 mm2"), ("Does each cable carry its", "        110 A")),
    ),
    Story(
        "support", "diagnose rank crew_cab_tray --readings cases/examples/crew_cab_tray_readings.yaml",
        (("5 readings used", "     cause  35%"), ("2. ", "     about"),
         ("Caution: ", "     unsteady -0.001 V")),
    ),
    Story(
        "trainee", "diagnose practice sun-fuse-01 --answers cases/examples/sun_fuse_acts.txt",
        (("PASSED", "It was: "), ("1. volts", "   spoke for"), ("One habit", "load; eyes")),
    ),
)  # fmt: skip


def printed(command: str) -> list[str]:
    """Return the lines that a command prints, with nobody at the keyboard."""
    environment = {key: value for key, value in os.environ.items() if key not in {"DIAGNOSE_DATA", "COLUMNS"}}
    environment["PYTHONPATH"] = str(ROOT)
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", *shlex.split(command)[1:]], cwd=ROOT, env=environment, input="",
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    return done.stdout.splitlines()


def shown(story: Story, lines: list[str]) -> list[str]:
    """Return the lines of a story's stretches, in order, with a mark where some are left out.

    Raises: ValueError where a stretch is not there.
    """
    found, after = [f"$ {story.command}", ""], 0
    for first, last in story.stretches:
        start = _place(lines, first, after)
        end = _place(lines, last, start)
        found += [CUT] if start > after else []
        found += lines[start : end + 1]
        after = end + 1
    return [*found, CUT] if after < len(lines) else found


def _place(lines: list[str], words: str, after: int) -> int:
    for number, line in enumerate(lines[after:], after):
        if line.startswith(words):
            return number
    raise ValueError(f"no line begins with `{words}`")


def picture(story: Story, lines: list[str]) -> str:
    """Return the picture of lines that a story shows."""
    console = Console(record=True, width=WIDTH, file=io.StringIO(), highlight=False)
    for line in lines:
        console.print(Text(line, style="bold" if line.startswith("$ ") else "dim" if line == CUT else ""))
    return console.export_svg(title=story.name, theme=THEME, code_format=FORM, unique_id=story.name)


def words_of(svg: str) -> list[str]:
    """Return the words that stand in a picture, line by line; how they are spaced and drawn is left out."""
    rows: dict[float, list[str]] = {}
    for height, text in re.findall(r'<text [^>]*? y="([\d.]+)"[^>]*>([^<]*)</text>', svg.partition("-matrix\">")[2]):
        rows.setdefault(float(height), []).append(html.unescape(text).replace("\xa0", " "))
    return [" ".join("".join(row).split()) for _, row in sorted(rows.items())]


def main() -> None:
    """Draw every picture anew."""
    FOLDER.mkdir(exist_ok=True)
    for story in STORIES:
        file: Path = FOLDER / f"{story.name}.svg"
        file.write_text(picture(story, shown(story, printed(story.command))), encoding="utf-8")
        print(f"{file.relative_to(ROOT)}: {file.stat().st_size} bytes")


if __name__ == "__main__":
    main()
