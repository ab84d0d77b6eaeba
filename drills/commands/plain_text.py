"""What the plain drill says: whole sentences, one a line, for eyes and for screen readers."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from cards.evidence import band
from cards.questions import Form
from drills.commands.plain_keys import (
    ACTIONS,
    ANSWERS,
    FINISH,
    HELP,
    NEXT,
    UNDO,
    WHY,
    PlainKeys,
)
from drills.grading import Sureness
from drills.phrases import clock, count, days, which_cue, which_level

if TYPE_CHECKING:
    from cards.explaining import CueStory
    from drills.service.desk import Desk
    from drills.service.drilling import DrillSession
    from drills.service.showing import Reveal, Showing, Summary


def time_left(session: DrillSession) -> str:
    """The clock in words."""
    if session.left > 0:
        return f"{clock(session.left)} left"
    return "time is up, last card"


def card(number: int, session: DrillSession, showing: Showing) -> list[str]:
    """A card: why it comes now, its cues, the two wines, the question."""
    why = f"{showing.why.value}: {showing.reason}" if showing.reason else showing.why.value
    question = showing.question
    cues = ", ".join(reading.words for reading in question.readings)
    names = {glass.wine: glass.name for glass in (showing.left, showing.right)}
    true, other = names[question.truth], names[question.other]
    lines = ["", f"Card {number}, {time_left(session)}. {_sentence(why)}"]
    if question.form is Form.WHICH_CUE:
        lines.append(which_cue(true, other, len(question.readings)))
    elif question.form is Form.WHICH_LEVEL:
        lines.append(which_level(true, cues))
    elif question.form is Form.NAME_IT:
        lines.append(f"Which wine is this? {_sentence(cues)}")
    else:
        lines += [
            _sentence(f"the {'cues' if len(question.readings) > 1 else 'cue'}: {cues}"),
            f"Left: {showing.left.name} ({showing.left.place}).",
            f"Right: {showing.right.name} ({showing.right.place}).",
        ]
    lines += [f"{n}: {option.words}" for n, option in enumerate(question.options, 1)]
    return lines


def asks(showing: Showing) -> str:
    """What stands before an answer."""
    options = len(showing.question.options)
    return f"1 to {options}? " if options else "Left or right, how sure? "


def how_sure(keys: PlainKeys) -> str:
    """What stands before the sureness of a picked option."""
    told = [
        f"{keys.said(f'left-{one.label}')} or {keys.said(f'right-{one.label}')} {one.label}"
        for one in sorted(Sureness, reverse=True)
    ]
    return f"How sure: {', '.join(told)}? "


def not_an_answer(line: str, showing: Showing, keys: PlainKeys) -> str:
    """What to say of a line that is no answer, however long it is and whatever is in it."""
    from drills.tastings.cells import printable

    typed = printable(line.strip())
    typed = typed if len(typed) <= 20 else typed[:19] + "..."
    options = len(showing.question.options)
    *letters, last = (keys.said(key.name) for key in ANSWERS)
    wanted = f"1 to {options}" if options else f"{', '.join(letters)} or {last}"
    # Empty lines are common; “” would only puzzle.
    head = f'"{typed}" is no answer here' if typed else "an answer is wanted"
    return f"{head[0].upper()}{head[1:]}: type {wanted} and Enter, or {keys.said(HELP)} for help."


def reveal(said: Reveal) -> list[str]:
    """What an answer earned, and the weight of each cue toward its wine."""
    showing, question, story = said.showing, said.showing.question, said.explanation
    names = {glass.wine: glass.name for glass in (showing.left, showing.right)}
    if said.correct:
        head = "Right."
    elif said.near:
        head = "One level off."
    else:
        head = "Wrong, though you were sure." if said.dangerous else "Wrong."
    if not said.correct:
        if question.options:
            right = " or ".join(one.words for one in question.options if one.distance == 0)
        else:
            right = f"it was {names[question.truth]}, not {names[question.other]}"
        head += f" {_sentence(right)}"
    if question.form is not Form.WHICH_LEVEL:
        sure = "over 99%" if story.probable > 0.99 else f"{story.probable:.0%}"
        head += f" {sure} probable by these cues."
    if said.back_in is None:
        head += " A check, not counted."
    else:
        guess = ", as a guess" if said.correct and said.sureness is Sureness.GUESS else ""
        head += f" Back {days(said.back_in)}{guess}."
    lines = [head]
    for one in story.cues:
        lines.append(_weight(one, showing))
        if one.because:
            lines.append(_sentence(one.because))
    if story.also:
        lines.append("Also worth checking:")
        lines += [_weight(one, showing) for one in story.also]
    return lines


def why(desk: Desk, said: Reveal) -> list[str]:
    """A reveal in full: what the wine is known by, and what every cue of it rests on."""
    from drills.service.profile import basis_words

    showing, story = said.showing, said.explanation
    truth = showing.left if said.showing.question.truth == showing.left.wine else showing.right
    lines = [f"{truth.name}: {_sentence(story.telling)}"]
    for one in (*story.cues, *story.also):
        lines.append(_weight(one, showing))
        if one.because:
            lines.append(_sentence(one.because))
        basis = one.citation or basis_words(desk.table, one.basis)
        lines.append(f"Rests on: {_sentence(basis, capital=False)}")
    return lines


def dispute(said: Reveal) -> list[str]:
    """The commands that change a fact of a card."""
    wines = (said.showing.question.left, said.showing.question.right)
    return [
        "A fact is changed in your own table, with a reason if you like; the next drill follows:",
        *(f"  crosspour table edit {wine}" for wine in wines),
    ]


def after(keys: PlainKeys, session: DrillSession) -> str:
    """What stands after a reveal: said in full once, for it is heard after every card."""
    told = [f"{keys.said(name)} {words}" for name, words in _AFTER]
    told = told if session.answered <= 1 else told[:1]
    ending = "" if session.left > 0 else "Time is up. "
    return f"{ending}{', '.join(told)}: "


_AFTER = ((NEXT, "goes on"), (WHY, "says why"), (UNDO, "takes back"), (FINISH, "finishes"))


def summary(ended: Summary) -> list[str]:
    """A finished drill: what slipped, and what is next."""
    head = f"{count(ended.answered, 'answer')}, {ended.right} right, in {clock(ended.seconds)}"
    lines = ["", f"The drill is over: {head}."]
    if ended.slips:
        lines.append("What slipped:")
    for slip in ended.slips:
        flag = " You were sure." if slip.dangerous else ""
        lines.append(f"  {slip.truth}, not {slip.other}: {slip.cues}.{flag}")
    if not ended.slips:
        lines.append("Nothing slipped." if ended.answered else "Nothing was answered.")
    lines.append("What comes next:")
    if ended.due_left:
        lines.append(f"  {count(ended.due_left, 'card')} more could be asked today.")
    elif ended.next_in is not None:
        lines.append(f"  The next card is due {days(ended.next_in)}.")
    lines.append(f"  {count(ended.unseen_left, 'contrast')} still unseen.")
    if any(ended.forecast):
        told = ", ".join(str(n) for n in ended.forecast)
        lines.append(f"  Due over the next {len(ended.forecast)} days, tomorrow first: {told}.")
    return lines


def help_lines(keys: PlainKeys) -> list[str]:
    """Every key of the plain drill."""
    return [
        "Two wines, one contrast. Type one letter and Enter: which glass, and how sure you are.",
        *(f"  {keys.said(key.name)}: {key.words}" for key in ANSWERS),
        "Where several answers stand, type the number of one, then a letter for how sure; "
        "2a says both at once.",
        "Besides:",
        *(f"  {keys.said(key.name)}: {key.words}" for key in ACTIONS),
        "The name of a key works too: left-sure, undo, why, finish.",
        "A right guess is not counted as known. A weight in decibans is ten times the logarithm "
        "of how much likelier one wine makes the cue.",
    ]


def heading(session: DrillSession, keys: PlainKeys) -> Iterable[str]:
    """What stands above the first card."""
    yield f"crosspour, a drill of {clock(session.seconds)}. {keys.said(HELP)} and Enter for help."


def _weight(story: CueStory, showing: Showing) -> str:
    """One cue in words: its weight, the wine it speaks for, and what either profile says."""
    toward = showing.left.name if story.weight < 0 else showing.right.name
    size = f"{abs(story.weight):.1f} decibans for {toward}, {band(story.weight)}"
    profiles = f"{showing.left.name}: {story.left}; {showing.right.name}: {story.right}"
    return f"{story.words[0].upper()}{story.words[1:]}: {size}. {profiles}."


def _sentence(words: str, *, capital: bool = True) -> str:
    """Words with a capital and a full stop, whatever they had."""
    words = words.strip()
    if capital:
        words = words[:1].upper() + words[1:]
    return words if words.endswith((".", "?", "!")) else f"{words}."
