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

#: who a script is for: their tools, and whether it leaves open what they may not know
CALLERS = (
    ("an owner with a meter", METER, False),
    ("an owner with meter, clamp, lamp who does not know what is fitted", (*METER, "clamp", "test_lamp"), True),
    ("an installer, pocket page", POCKET, False),
    ("an installer who does not know what is fitted", POCKET, True),
)
#: layouts with most parts that pages are measured of
LAYOUTS = 3
#: the layout and the complaint whose pocket page came out longest of all pairs, those that ship
LONGEST = ("camper_trailer", "rotten_eggs_or_bulging")
#: taps of one measurement: a path to an end, then the script begins anew
TAPS = 30
#: how much slower than this machine's the processor of a telephone is taken to be (judgement)
SLOWER = 4
#: taps an answer of the card that is shown, one that leads to another card if there is one; the next card is drawn when
#: a message that is sent as its frame begins comes in
TAP = """
const done = arguments[0], sections = [...document.querySelectorAll('section')];
const seen = () => sections.find(section => section.offsetParent !== null);
const shown = seen(), links = [...shown.querySelectorAll('.answers a')];
const link = links.find(one => one.hash.startsWith('#q')) || links[0];
if (!link) { done(null); } else {
  const drawn = new MessageChannel(), begun = performance.now();
  drawn.port1.onmessage = () => { const time = performance.now() - begun; done(seen() === shown ? -1 : time); };
  requestAnimationFrame(() => drawn.port2.postMessage(0));
  link.click();
}
"""


def figures() -> Iterator[tuple[str, str, str]]:
    """Yield the rows of this part."""
    largest = sorted(layout_ids(), key=lambda name: (len(layout(name).parts), name))[-LAYOUTS:]
    pages: dict[str, str] = {}
    for what, tools, opened in CALLERS:
        for name in reversed(largest):
            told = open_sources(name) if opened else sources(name)
            begun = process_time()
            script = compile_script(told, ordered(tools))
            spent = process_time() - begun
            pages[f"{what}, `{name}`"] = script_page(script)
            if name == largest[-1]:
                yield f"script of `{name}` at depth 8 for {what}", f"{spent:.1f} s", "20 s"
        most = max((one for one in pages if one.startswith(f"{what}, ")), key=lambda one: len(pages[one]))
        yield f"the largest page of {LAYOUTS} layouts for {most}", _kilobytes(pages[most]), "400 kB"
    longest = script_page(compile_script(sources(LONGEST[0]), ordered(POCKET)._replace(complaint=LONGEST[1])))
    yield f"the longest page known: pocket page, `{LONGEST[0]}`, `{LONGEST[1]}`", _kilobytes(longest), "400 kB"
    if browser_path() is None:
        yield "taps on the longest page", "no browser is installed", "50 ms"
        return
    taps = list(_taps(longest))
    what = f"{len(taps)} taps on the longest page, each to the next card drawn, a processor {SLOWER} times as slow"
    yield what, f"{median(taps):.0f} ms in the middle, {max(taps):.0f} ms at most", "50 ms"


def _kilobytes(page: str) -> str:
    return f"{len(page.encode()) / 1000:.0f} kB"


def _taps(page: str) -> Iterator[float]:
    """Yield how long each tap on the way to an end takes [ms]."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "page.html"
        file.write_text(page, encoding="utf-8")
        driver = chromium("390,844")
        try:
            driver.get(file.as_uri())
            driver.execute_cdp_cmd("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
            for _ in range(TAPS):
                taken = driver.execute_async_script(TAP)
                if taken is None:
                    driver.find_element("id", "restart").click()
                elif taken < 0:
                    raise RuntimeError("a tap led nowhere")
                else:
                    yield float(taken)
        finally:
            driver.quit()
