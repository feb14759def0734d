"""Every event can be written as plain data and read back the same; what is no event is refused."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.model.fault import FaultAt
from diagnose.model.reading import QUANTITIES, STATES, Read, Reading, Take
from diagnose.session.events import KINDS, Event
from diagnose.store.jobs_form import Malformed, event_data, event_from

WORD = st.text(max_size=12)
NUMBER = st.floats(-1e4, 1e4)
PAIR = st.tuples(WORD, WORD)
TAKES = st.sampled_from(list(QUANTITIES)).flatmap(
    lambda quantity: st.builds(
        Take, st.just(quantity), st.tuples(*[WORD] * QUANTITIES[quantity][0]), st.sampled_from(STATES),
        st.sampled_from(("multimeter", "test_lamp")), st.none() | PAIR, st.none() | WORD,
    )
)  # fmt: skip
READS = st.builds(
    Read, st.sampled_from(("number", "below", "word", "over_range", "unsteady", "skipped")), WORD,
    st.none() | NUMBER, st.none() | NUMBER, st.none() | WORD,
)  # fmt: skip
FAULTS = st.builds(FaultAt, WORD, WORD, st.none() | WORD, st.none() | WORD, st.none() | NUMBER)
EVENTS = st.builds(
    Event, st.sampled_from([k for k in KINDS if k not in ("repaired", "leave")]), WORD,
    st.none() | st.builds(Reading, TAKES, READS, st.none()), st.none(), st.none() | st.integers(1, 99),
) | st.builds(Event, st.sampled_from(["repaired", "leave"]), WORD, st.none(), FAULTS)  # fmt: skip


@given(EVENTS)
def test_an_event_comes_back_as_it_was(event: Event) -> None:
    assert event_from(json.loads(json.dumps(event_data(event)))) == event


@pytest.mark.parametrize(
    "data", [None, [], "alarm", {}, {"kind": "dance"}, {"kind": "repaired"}, {"kind": "alarm", "text": 3},
             {"kind": "reading", "take": {"quantity": "volts", "where": ["a"], "when": "at_rest"}},
             {"kind": "reading", "take": {"quantity": "volts", "where": ["a", "b"], "when": "asleep"}},
             {"kind": "reading", "read": {"kind": "number", "text": "", "value": "twelve"}},
             {"kind": "reading", "read": 3}],
)  # fmt: skip
def test_what_is_no_event_is_refused(data: object) -> None:
    with pytest.raises(Malformed):
        event_from(data)
