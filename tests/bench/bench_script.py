"""How long a script takes to compile for the largest layout, how large its page is, and how long a tap on it takes:
processor time, bytes, time to the next card drawn.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import process_time

from diagnose.present.script_page import script_page
from diagnose.scripts.compiling import compile_script
from diagnose.store.installations import layout_ids
from tests.circuit.random_faults import layout
from tests.present.chromium import browser_path, chromium
from tests.scripts.orders import METER, POCKET, open_sources, ordered, sources

__all__ = ["figures"]

#: how much slower than this machine's the processor of a telephone is taken to be (judgement)
SLOWER = 4
#: taps the first answer of the card that is shown; the next card is drawn when two frames have passed
TAP = """
const done = arguments[0], begun = performance.now();
const shown = [...document.querySelectorAll('section')].find(s => s.offsetParent !== null);
const link = shown.querySelector('.answers a, .answers button');
if (!link) { done(null); } else {
  link.click();
  requestAnimationFrame(() => requestAnimationFrame(() => {
    const next = [...document.querySelectorAll('section')].find(s => s.offsetParent !== null);
    done(next === shown ? -1 : performance.now() - begun);
  }));
}
"""


def figures() -> Iterator[tuple[str, str, str]]:
    """Yield the rows of this part."""
    largest = max(layout_ids(), key=lambda name: (len(layout(name).parts), name))
    pages = []
    for what, tools, told in (
        ("an owner with a meter", METER, sources(largest)),
        ("an owner with a meter who does not know what is fitted", METER, open_sources(largest)),
        ("an installer, pocket page", POCKET, sources(largest)),
    ):
        begun = process_time()
        script = compile_script(told, ordered(tools))
        spent = process_time() - begun
        pages.append(script_page(script))
        yield f"script of `{largest}` at depth 8 for {what}", f"{spent:.1f} s", "20 s"
        yield f"its page for {what}", f"{len(pages[-1].encode()) / 1000:.0f} kB", "400 kB"
    if browser_path() is None:
        yield "taps on the largest page", "no browser is installed", "50 ms"
        return
    taps = list(_taps(max(pages, key=len)))
    what = f"{len(taps)} taps on the largest page, two frames of waiting counted, a processor {SLOWER} times as slow"
    yield what, f"{median(taps):.0f} ms in the middle, {max(taps):.0f} ms at most", "50 ms"


def _taps(page: str) -> Iterator[float]:
    """Yield how long each tap on the way to an end takes [ms]."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "page.html"
        file.write_text(page, encoding="utf-8")
        driver = chromium("390,844")
        try:
            driver.get(file.as_uri())
            driver.execute_cdp_cmd("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
            while (taken := driver.execute_async_script(TAP)) is not None:
                if taken < 0:
                    raise RuntimeError("a tap led nowhere")
                yield float(taken)
        finally:
            driver.quit()
