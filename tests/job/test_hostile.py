"""Files that are meant to break a reader end in a message; no timing is asserted."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.errors import FileError, JobError
from nesting.job.reading import parse_job, read_job
from tests.job.jobs import BAD, EXAMPLE, LEAST, LIBRARY, METRIC, faults

DIGITS = "9" * 40
ALIASES = "a: &a [x, x, x]\n" + "".join(f"a{i}: &a{i} [*a, *a]\n" for i in range(50))
BOMB = "b0: &b0 [x, x]\n" + "".join(f"b{i}: &b{i} [*b{i - 1}, *b{i - 1}]\n" for i in range(1, 40))


@pytest.mark.parametrize(("text", "said"), [
    ("[" * 4_000, "deeper than any job needs"),
    ("a: " + "{" * 4_000, "deeper than any job needs"),
    ("- " * 2_000, "deeper than any job needs"),
    ("[" * 10_000, "longer than 5000 characters"),
    ("\n".join("[" * 10_000), "deeper than any job needs"),
    (BOMB, "unfolds to more than"),
    ("a: &a\n  b: [*a]\n", "stands for the very list or table"),
    ("parts:\n" + "  - [a, b, c, d, e, f, g, h]\n" * 10_000, "more than 30000 values"),
    ("a\n" * 30_000, "more than 20000 lines"),
    ("a: b\n" * 5_000, "500 faults up to here"),
    (LEAST.replace("34 1/2", DIGITS), "longer than 100 m"),
    (LEAST.replace("34 1/2", DIGITS + "/2"), "no proper fraction"),
    (LEAST.replace("34 1/2", f"1/{DIGITS}"), "a tape has halves"),
    (LEAST.replace("94.00", DIGITS), "over 9 digits on one side of the point"),
    (LEAST.replace("11 3/4", f"11 3/4, count: {DIGITS}"), "a number of more than 6 digits"),
    (LEAST.replace("34 1/2", "½ " * 2_000), "longer than 60 characters"),
])  # fmt: skip
def test_hostile_files(text, said):
    found = faults(text)
    assert said in found[-1].right, found[-1]
    assert not LIBRARY.search("\n".join(map(str, found)))


def test_faults_without_end_are_counted():
    found = faults(LEAST + "".join(f"  - {{name: a{i}}}\n" for i in range(400)))
    assert len(found) == 501
    assert found[-1].right == "has 700 more faults"  # three are missing in each


def test_aliases_that_do_not_blow_up_are_no_fault_by_themselves():
    assert {fault.right[:14] for fault in faults(ALIASES + LEAST)} == {"is no key here"}


@pytest.mark.parametrize("name", ["a\ud800b", "\x1b[31m", "x" * 5_000])
def test_names_in_faults_can_be_printed(name):
    text = LEAST.replace("Kiln room", '"' + name.encode("unicode_escape").decode() + '"')
    text = text.replace("joint", "").replace("37 1/4", "x")
    for fault in faults(text):
        str(fault).encode("utf-8")
        assert str(fault).isprintable()


def lines_and_words_hold(text: str) -> None:
    try:
        parse_job(text, "job.yaml")
    except JobError as error:
        count = text.count("\n") + text.count("\r") + 1
        for fault in error.faults:
            where, _, line = fault.where.partition(":")
            assert where == "job.yaml"
            assert not line or 1 <= int(line) <= count
            assert not LIBRARY.search(f"{fault.what}: {fault.right}")
            str(fault).encode("utf-8")


def mutated(pieces: list[tuple[float, int, str]], text: str) -> str:
    for place, cut, new in pieces:
        at = int(place * len(text))
        text = text[:at] + new + text[at + cut :]
    return text


WORDS = st.sampled_from([
    "[", "]", "{", "}", ":", ": ", "\n", "\n  ", "- ", " #", "#x", "'", '"', "&a ", "*a", "!x ", "|", ">",
    "%", "@", "\t", ",", "?", "-", "0", "1/2", "½", "\u2028", "\x85", "\r", "<<: *a", "---\n", "...\n",
    "yes", "~", "\ufeff", "\x00",
]) | st.text(max_size=4)  # fmt: skip
MUTATIONS = st.lists(
    st.tuples(st.floats(0, 1), st.integers(0, 12), WORDS | st.just("")), min_size=1, max_size=12
)


@given(MUTATIONS, st.sampled_from([LEAST, METRIC, EXAMPLE, (BAD / "several.yaml").read_text()]))
@settings(max_examples=150, deadline=None)
def test_a_mutated_job_is_read_or_has_faults(pieces, text):
    lines_and_words_hold(mutated(pieces, text))


@given(st.text())
@settings(max_examples=100, deadline=None)
def test_any_text_is_read_or_has_faults(text):
    lines_and_words_hold(text)


@given(st.binary())
@settings(max_examples=100, deadline=None)
def test_any_bytes_are_read_or_have_faults(tmp_path_factory, data):
    path = tmp_path_factory.getbasetemp() / "any.yaml"
    path.write_bytes(data)
    with pytest.raises((JobError, FileError)):
        read_job(path)
