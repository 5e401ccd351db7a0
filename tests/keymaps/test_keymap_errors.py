from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keymaps.commands import COMMANDS
from keymaps.keymap import load_keymap, merged_keys, parse_layer, read_layer
from sessions.errors import KeymapError

HEAD = 'format = "framecall-keymap"\nversion = 1\n'

# Name, text of the file (after HEAD, which is two lines, where it begins with "+"), what is said.
CASES: dict[str, tuple[str, str]] = {
    "unknown command": (
        '+[keys]\n# comment\n"step.forwards" = "q"\n',
        'line 5: there is no command "step.forwards"; did you mean "step.forward"?',
    ),
    "unknown command without quotes": (
        '+[keys]\nstep.forwards = "q"\n',
        'line 4: there is no command "step.forwards"; did you mean "step.forward"?',
    ),
    "command unlike any": (
        '+[keys]\n"make tea" = "q"\n',
        'line 4: there is no command "make tea"; the help lists all commands.',
    ),
    "a fault of a marker": (
        '+[keys]\n"fault.hands_off" = "q"\n',
        'line 4: there is no command "fault.hands_off"; did you mean "fault.two_hands"?',
    ),
    "not a key": (
        '+[keys]\n"note" = "rihgt"\n',
        'line 4: "rihgt" is not a key that every terminal sends; did you mean "right"?',
    ),
    "not a key, in a list": (
        '+[keys]\n"note" = [\n  "q", # fine\n  "super+q",\n]\n',
        'line 6: "super+q" is not a key that every terminal sends; '
        "take a key without that modifier.",
    ),
    "a key that arrives as another": (
        '+[keys]\n"note" = "ctrl+i"\n',
        'line 4: "ctrl+i" arrives as tab; choose another key.',
    ),
    "no key at all": (
        '+[keys]\n"note" = []\n',
        'line 4: "note" has no key; give it at least one.',
    ),
    "an empty key": (
        '+[keys]\n"note" = ""\n',
        'line 4: "" is not a key that every terminal sends; '
        'write a character, or a name such as "right", "space" or "question_mark".',
    ),
    "a number for a key": (
        '+[keys]\n"note" = 5\n',
        'line 4: "note" cannot be 5; write a key, or a list of keys, in quotes.',
    ),
    "a number in the list": (
        '+[keys]\n"note" = ["q",\n true]\n',
        'line 5: "note" cannot be true; write a key, or a list of keys, in quotes.',
    ),
    "keys that are no table": (
        'format = "framecall-keymap"\nversion = 1\nkeys = ["q"]\n',
        'line 3: "keys" cannot be [\'q\']; write a table [keys] with entries such as "note" = "N".',
    ),
    "no keys": (
        HEAD,
        'line 1: "keys" is missing; write a table [keys] with entries such as "note" = "N".',
    ),
    "an empty file": (
        "",
        'line 1: "format" is missing; write format = "framecall-keymap".',
    ),
    "another format": (
        'format = "framecall-event"\nversion = 1\n[keys]\n',
        'line 1: "format" cannot be "framecall-event"; write format = "framecall-keymap".',
    ),
    "another version": (
        'format = "framecall-keymap"\n\nversion = 2\n[keys]\n',
        'line 3: "version" cannot be 2; this program reads version = 1.',
    ),
    "a long title": (
        "+title = '" + "x" * 61 + "'\n[keys]\n",
        'line 3: "title" cannot be "' + "x" * 36 + "...; "
        "write a title of 1 to 60 characters in quotes.",
    ),
    "a base that is a number": (
        "+base = 1\n[keys]\n",
        'line 3: "base" cannot be 1; '
        'write the name of a keymap in quotes, such as base = "qwerty".',
    ),
    "a slip in an entry's name": (
        "+titel = 'x'\n[keys]\n",
        'line 3: "titel" is no entry of a keymap; did you mean "title"?',
    ),
    "a command above its table": (
        "+note = 'q'\n[keys]\n",
        'line 3: "note" is no entry of a keymap; move it under [keys].',
    ),
    "an entry unlike any": (
        "+[xyz]\n[keys]\n",
        'line 3: "xyz" is no entry of a keymap; remove it, or move it under [keys].',
    ),
    "the first of several problems": (
        '+[keys]\n"note" = 5\n"undo" = 6\n"nope" = "q"\n',
        'line 4: "note" cannot be 5; write a key, or a list of keys, in quotes.',
    ),
}


@pytest.mark.parametrize(("text", "said"), CASES.values(), ids=CASES)
def test_a_file_that_does_not_hold_is_refused_with_line_and_remedy(text: str, said: str) -> None:
    if text.startswith("+"):
        text = HEAD + text[1:]
    with pytest.raises(KeymapError) as refusal:
        parse_layer("mine.toml", text)
    assert str(refusal.value) == f"mine.toml, {said}"


BROKEN = {
    "torn string": ('[keys]\n"note" = "q\n"undo" = "z"\n', 4),
    "cut off": ('[keys]\n"note" = [\n"q",\n', 5),
    "the same command twice": ('[keys]\n"note" = "q"\n\n"note" = "Q"\n', 6),
    "unquoted command beside a longer one": ('[keys]\nplay = "q"\nplay.faster = "Q"\n', 5),
    "no text": ("\x00", 3),
}


@pytest.mark.parametrize(("text", "line"), BROKEN.values(), ids=BROKEN)
def test_text_that_is_no_toml_is_refused_at_its_line(text: str, line: int) -> None:
    with pytest.raises(KeymapError) as refusal:
        parse_layer("mine.toml", HEAD + text)
    sentence = str(refusal.value)
    assert sentence.startswith(f"mine.toml, line {line}: this is not TOML (")
    assert sentence.endswith(
        '); write entries as "command" = "key", both in quotes, each command once.'
    )
    assert "at line" not in sentence


MERGES: dict[str, tuple[str, str]] = {
    "one key for two commands": (
        '[keys]\n"note" = "q"\n# between\n"accept" = ["Q",\n"q"]\n',
        'mine.toml, line 7: "q" is given to "accept", and to "note" on line 4; '
        "choose another key for one of them.",
    ),
    "one key written in two ways": (
        '[keys]\n"note" = "grave_accent"\n"accept" = "`"\n',
        'mine.toml, line 5: "grave_accent" is given to "accept", and to "note" on line 4; '
        "choose another key for one of them.",
    ),
    "one key twice for a command": (
        '[keys]\n"note" = [\n"q",\n"Q",\n"q"]\n',
        'mine.toml, line 7: "q" is listed twice for "note" (first on line 5); remove one.',
    ),
    "a key that the base has": (
        '[keys]\n"note" = "ctrl+u"\n',
        'mine.toml, line 4: "ctrl+u" is given to "note", but keymap qwerty has it for "undo"; '
        'choose another key, or rebind "undo" here too.',
    ),
}


@pytest.mark.parametrize(("text", "said"), MERGES.values(), ids=MERGES)
def test_a_key_with_two_commands_is_refused_with_both(
    text: str, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("mine.toml").write_text(HEAD + text)
    with pytest.raises(KeymapError) as refusal:
        load_keymap("qwerty", "mine.toml")
    assert str(refusal.value) == said


def test_a_keymap_without_all_commands_is_refused_at_its_table() -> None:
    layer = parse_layer("mine.toml", HEAD + '\n[keys]\n"step.forward" = "q"\n')
    with pytest.raises(KeymapError) as refusal:
        merged_keys([layer])
    assert str(refusal.value) == (
        f'mine.toml, line 4: no key for "step.back" and {len(COMMANDS) - 2} more; '
        'add what is missing, or name a keymap to change, such as base = "qwerty".'
    )


def test_an_unknown_keymap_is_refused_with_the_known_ones() -> None:
    with pytest.raises(KeymapError) as refusal:
        load_keymap("dvorak")
    assert str(refusal.value) == (
        'There is no keymap "dvorak"; take one of azerty, left, qwerty, qwertz, '
        "or the path of a .toml file."
    )


def test_an_unknown_base_is_refused_at_its_line(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(HEAD + '\nbase = "dvorak"\n[keys]\n')
    with pytest.raises(KeymapError) as refusal:
        load_keymap(path)
    assert str(refusal.value) == (
        f'{path}, line 4: there is no base "dvorak"; take one of azerty, left, qwerty, qwertz.'
    )


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    path = tmp_path / "none.toml"
    with pytest.raises(KeymapError) as refusal:
        load_keymap("qwerty", path)
    assert str(refusal.value) == (
        f"{path} cannot be read (No such file or directory); check path and rights."
    )


def test_a_file_that_the_environment_names_must_be_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FRAMECALL_KEYS", str(tmp_path / "none.toml"))
    with pytest.raises(KeymapError, match="cannot be read"):
        load_keymap()


def test_text_in_another_encoding_is_refused_at_its_line(tmp_path: Path) -> None:
    path = tmp_path / "latin.toml"
    path.write_bytes((HEAD + '[keys]\n"note" = "é"\n').encode("latin-1"))
    with pytest.raises(KeymapError) as refusal:
        read_layer(path)
    assert str(refusal.value) == f"{path}, line 4: the text is not UTF-8; save it as UTF-8."


@pytest.mark.parametrize("text", ["a = " + "[" * 20000, "a = " + "{b=" * 20000, "a." * 20000])
def test_text_nested_without_end_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(KeymapError) as refusal:
        parse_layer("mine.toml", text)
    assert str(refusal.value).startswith("mine.toml, line 1: ")


def test_a_number_too_long_to_read_is_refused_in_one_sentence() -> None:
    with pytest.raises(KeymapError, match=r"^mine\.toml, line \d+: "):
        parse_layer("mine.toml", "version = " + "9" * 5000)


WORDS = [*"[]{}=\n\"',.# 1q", HEAD, "[keys]", "keys", "note", '"note"', '"q"', '"""', "'''"]
TEXTS = st.one_of(
    st.text(max_size=60),
    st.lists(st.sampled_from([*WORDS, '"note"', '"q"', HEAD, '"""', " "]), max_size=30).map(
        "".join
    ),
)


@given(TEXTS)
def test_any_text_is_read_or_refused_in_one_line(text: str) -> None:
    try:
        parse_layer("mine.toml", text)
    except KeymapError as refusal:
        sentence = str(refusal)
        assert sentence.startswith("mine.toml, line ")
        assert "\n" not in sentence
        assert sentence[-1] in ".?"
