"""A wine's file in the taster's folder, as text: facts amended, offered as comments, tidied.

Whatever a taster wrote stays as written, comments and all. Nothing here touches the disk.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from cards.errors import TableError
from cards.facts import Change, Fact, FactPath, basis_name, entry_word, facts_of, with_own_bases
from cards.profiles import OWN, UNLISTED, Profile
from cards.toml import NotTomlError, read_toml

_HEADER = re.compile(r"\s*\[\s*([\w-]+)\s*\]\s*(?:#.*)?")
_ANY_HEADER = re.compile(r"\s*\[")
_CONTROLS = re.compile(r"[\x00-\x1f\x7f\u0085\u2028\u2029]+")


def parsed(text: str, file: Path) -> dict[str, Any]:
    """The content of a file's text; TableError names the line that is no TOML."""
    try:
        return read_toml(text)
    except NotTomlError as error:
        raise TableError(f"is no valid TOML ({error})", file=file, line=error.line) from None


# ---- amending


def amended(text: str, change: Change, file: Path, name: str) -> str:
    """The text of a wine's own file after a change; `text` is empty where there is none yet.

    TableError: the text is no TOML, or is written in a way that cannot be amended safely.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    parsed(text, file)
    try:
        document = tomlkit.parse(text)
        if not text.strip():
            document.add(tomlkit.comment(f"Your own notes on {_one_line(name)}."))
        for path, fact in change.facts.items():
            if fact is None:
                _take_away(document, path)
            else:
                _write(document, path, fact, change.reason)
        result = tomlkit.dumps(document).rstrip("\n") + "\n"
    except TOMLKitError as error:
        raise TableError(f"cannot be amended ({error})", file=file) from None
    content = with_own_bases(parsed(result, file))
    for path, fact in change.facts.items():
        if _standing(content, path) != fact:
            raise TableError(
                "cannot be amended as it is written; change it by hand",
                file=file,
                field=".".join(path),
            )
    return result


def _standing(content: Mapping[str, Any], path: FactPath) -> Fact | None:
    """The fact that a file with its bases written out holds at `path`."""
    node: Any = content
    for name in path:
        if not isinstance(node, Mapping) or name not in node:
            return None
        node = node[name]
    if word := entry_word(path):
        return Fact(node[word], node["basis"])
    return Fact(node, content[path[0]]["basis"] if basis_name(path) else OWN)


def _section(document: Any, name: str) -> Any:
    import tomlkit

    if name not in document:
        table = tomlkit.table()
        if document.as_string().strip():
            document.add(tomlkit.nl())
        document.add(name, table)
    return document[name]


def _write(document: Any, path: FactPath, fact: Fact, reason: str) -> None:
    import tomlkit
    from tomlkit.items import InlineTable

    top = document.get("basis", OWN)
    if len(path) == 1:
        document[path[0]] = fact.value
        _give_reason(document[path[0]], reason)
        return
    section = _section(document, path[0])
    word = entry_word(path)
    value: Any = fact.value
    if word and fact.basis != section.get("basis", top):
        value = tomlkit.inline_table()
        value.update({word: fact.value, "basis": fact.basis})
    elif isinstance(value, dict):
        value = tomlkit.inline_table()
        value.update(fact.value)
    section[path[1]] = value
    if basis_name(path) and not word and fact.basis != section.get("basis", top):
        section["basis"] = fact.basis
    # A comment within braces would end the line that they must close on.
    inline = isinstance(section, InlineTable)
    _give_reason(section if inline else section[path[1]], reason)


def _take_away(document: Any, path: FactPath) -> None:
    if len(path) == 1:
        document.pop(path[0], None)
        return
    section = document.get(path[0])
    if not isinstance(section, Mapping):
        return
    section.pop(path[1], None)  # type: ignore[attr-defined]
    if not set(section) - {"basis"} and "#" not in section.as_string():  # type: ignore[attr-defined]
        document.pop(path[0], None)


def _give_reason(item: Any, reason: str) -> None:
    words = _one_line(reason)
    if not words:
        return
    before = item.trivia.comment.lstrip("# ")
    item.comment(f"{before}; {words}" if before and before != words else words)


def _one_line(text: str) -> str:
    return " ".join(_CONTROLS.sub(" ", text).split())


# ---- offering


def offered_lines(profile: Profile) -> dict[str, list[str]]:
    """What the table says of a wine, as commented lines by section; “” is the top of the file."""
    lines: dict[str, list[str]] = {
        "": [
            f"# {_one_line(profile.name)} ({profile.key}): what the table says, each line behind",
            "# a hash sign. Take the sign away and change the value, and your line stands over the",
            "# table's. Lines that you leave are taken out when the file is kept. “unlisted” takes",
            "# a descriptor off the wine; any descriptor of the lexicon may be added.",
        ]
    }
    for path, value in facts_of(profile).items():
        section = path[0] if len(path) > 1 else ""
        lines.setdefault(section, []).append(f"# {fact_line(path, value)}")
    return lines


def fact_line(path: FactPath, value: Any) -> str:
    """A fact as a line of a file."""
    return f"{path[-1]} = {_toml(value)}"


def _toml(value: Any) -> str:
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return '"' + re.sub(r"[\x00-\x1f\x7f]", lambda m: f"\\u{ord(m[0]):04x}", escaped) + '"'
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(k)} = {_toml(v)}" for k, v in value.items()) + " }"
    return repr(value)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[\w-]+", key, re.ASCII) else _toml(key)


def with_offers(text: str, profile: Profile, file: Path) -> str:
    """A wine's own file with every other fact of the table offered behind a hash sign.

    TableError where the text is no TOML.
    """
    content = parsed(text, file)
    lines = text.splitlines()
    present = {line.strip() for line in lines}
    for section, offered in offered_lines(profile).items():
        held = content if not section else content.get(section, {})
        if not isinstance(held, Mapping):
            continue
        missing = [
            line
            for line in offered
            if line not in present and line[2:].partition(" =")[0].strip() not in held
        ]
        at = _end_of(lines, section)
        if at is not None:
            lines[at:at] = missing
        elif section not in content and missing:
            lines += ["", f"[{section}]", *missing]
    result = "\n".join(lines).strip("\n") + "\n"
    return result if _says_the_same(result, content) else text


def _end_of(lines: list[str], section: str) -> int | None:
    """Where a line is added to a section: behind its last line that is not empty."""
    start = 0
    if section:
        found = (
            n for n, line in enumerate(lines) if (m := _HEADER.fullmatch(line)) and m[1] == section
        )
        header = next(found, None)
        if header is None:
            return None
        start = header + 1
    end = next((n for n in range(start, len(lines)) if _ANY_HEADER.match(lines[n])), len(lines))
    while end > start and not lines[end - 1].strip():
        end -= 1
    return end


def tidied(text: str, profile: Profile | None) -> str:
    """A file without the offers that were left as they were, and without empty sections."""
    offers = (
        {line for lines in offered_lines(profile).values() for line in lines} if profile else set()
    )
    kept = [line for line in text.splitlines() if line.rstrip() not in offers]
    kept = list(_without_empty_sections(kept))
    lines: list[str] = []
    for line in kept:
        if line.strip() or (lines and lines[-1].strip()):
            lines.append(line)
    result = "\n".join(lines).strip("\n") + "\n"
    return result if _says_the_same(result, read_toml(text)) else text


def _says_the_same(text: str, content: Mapping[str, Any]) -> bool:
    """Whether lines put in or taken out changed no fact: a long text may hold lines like them."""
    try:
        return _filled(read_toml(text)) == _filled(content)
    except NotTomlError:
        return False


def _filled(content: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in content.items() if value != {}}


def _without_empty_sections(lines: list[str]) -> Iterator[str]:
    for number, line in enumerate(lines):
        if _HEADER.fullmatch(line) and "#" not in line:
            rest = iter(lines[number + 1 :])
            following = next((other for other in rest if other.strip()), "[")
            if _ANY_HEADER.match(following):
                continue
        yield line


# ---- a new wine


def new_wine_text(key: str, name: str, short: str, like: Profile, laterals: list[str]) -> str:
    """The file of a new wine: a copy of another, under its own name, every fact to be edited."""
    facts: dict[FactPath, Any] = facts_of(like)
    facts |= {("name",): name, ("short",): short, ("synonyms",): [], ("laterals",): laterals}
    lines = [
        f"# {key}: a copy of {_one_line(like.name)} ({like.key}), to be changed.",
        "# Every fact counts as your own note, unless you name another basis beside it.",
    ]
    section = ""
    for path, value in facts.items():
        if len(path) > 1 and path[0] != section:
            section = path[0]
            lines += ["", f"[{section}]"]
        if value != UNLISTED:
            lines.append(fact_line(path, value))
    return "\n".join(lines) + "\n"
