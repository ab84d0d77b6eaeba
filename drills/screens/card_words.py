"""What a card says: as it is asked, and once the answer is out."""

from __future__ import annotations

from dataclasses import replace
from textwrap import shorten

from textual.content import Content

from cards.explaining import CueStory, Explanation
from cards.questions import Form
from drills.grading import Sureness
from drills.phrases import days, which_cue, which_level
from drills.screens.card_face import Face
from drills.screens.widgets.bars import side_names, story_lines, story_width
from drills.screens.widgets.glass import Fate, Glass
from drills.service.showing import Reveal, Showing

# From so many columns on, the verdict is said in full.
_WORDY = 72
Stories = tuple[tuple[Content, ...], ...]


def asking(showing: Showing, keys: dict[str, tuple[str, str, str]], picked: int | None) -> Face:
    """The open card; `keys` are those of the left and right glass, from sure to guess."""
    question = showing.question
    left, right = (
        # The names would halve the choice; the keys below them are still needed.
        Glass(side, "how sure?", "", keys[side])
        if question.form is Form.NAME_IT
        else Glass(side, glass.name, glass.place, keys[side])
        for side, glass in (("left", showing.left), ("right", showing.right))
    )
    if question.form in (Form.WHICH_CUE, Form.WHICH_LEVEL):
        poured = "this one is poured"
        if question.truth == question.left:
            left = left.marked(Fate.TRUE, poured)
        else:
            right = right.marked(Fate.TRUE, poured)
    words, cues = _asked(showing)
    if picked is not None and question.form is not Form.NAME_IT:
        cues = "how sure?"
    options = tuple(
        Content.assemble(
            (f"{'▸' if place == picked else ' '}{place + 1} ", "bold"),
            (option.words, "bold" if place == picked else ""),
        )
        for place, option in enumerate(question.options)
    )
    why = f"{showing.why.value}: {showing.reason}" if showing.reason else showing.why.value
    return Face(why, words, cues, left, right, options)


def _asked(showing: Showing) -> tuple[str, str]:
    """The question, and the cues below it."""
    question = showing.question
    names = {glass.wine: glass.name for glass in (showing.left, showing.right)}
    true, other = names[question.truth], names[question.other]
    cues = "  +  ".join(reading.words for reading in question.readings)
    pick = f"pick 1 to {len(question.options)}, then say how sure"
    if question.form is Form.WHICH_CUE:
        return which_cue(true, other, len(question.readings)), pick
    if question.form is Form.WHICH_LEVEL:
        return which_level(true, cues), pick
    if question.form is Form.NAME_IT:
        return "Which wine is this?", cues.replace("  +  ", ", ")
    return "Which of these two?", cues


def answered(
    face: Face,
    showing: Showing,
    given: str | int,
    verdict: Content,
    stories: Stories,
    *,
    bare: bool,
) -> Face:
    """The card once the answer is out: a wine's key, or the number of an option.

    `bare` leaves the glasses out where the card has options.
    """
    question = showing.question
    if isinstance(given, int):
        options = tuple(
            Content.assemble(
                (f"{_sign(option.distance, place, given)}{place + 1} ", "bold"), option.words
            )
            for place, option in enumerate(question.options)
        )
        return replace(face, options=options, verdict=verdict, stories=stories, bare=bare)
    correct = given == question.truth
    if question.truth == question.left:
        true, other = face.left, face.right
    else:
        true, other = face.right, face.left
    true = true.marked(Fate.TRUE, "this one, as you said" if correct else "it was this")
    if not correct:
        other = other.marked(Fate.SAID, "your answer")
    left, right = (true, other) if true.side == "left" else (other, true)
    return replace(face, left=left, right=right, verdict=verdict, stories=stories)


def _sign(distance: int, place: int, given: int) -> str:
    return "✓" if distance == 0 else "✗" if place == given else " "


def verdict(reveal: Reveal, width: int) -> Content:
    """Right or wrong, how probable the cues make it, and when the card comes back: one line."""
    if reveal.correct:
        head = ("✓ right", "bold $success")
    elif reveal.near:
        head = ("≈ one level off", "bold $warning")
    elif reveal.dangerous:
        head = ("✗ wrong, though sure", "bold $error")
    else:
        head = ("✗ wrong", "bold $error")
    if reveal.back_in is None:
        after = "a check, not counted"
    else:
        after = f"back {days(reveal.back_in)}"
        if reveal.correct and reveal.sureness is Sureness.GUESS:
            after += ", as a guess"
    probable = reveal.explanation.probable
    sure = "over 99%" if probable > 0.99 else f"{probable:.0%}"
    told = f"   {sure} probable" + (" by these cues" if width >= _WORDY else "")
    if reveal.showing.question.form is Form.WHICH_LEVEL:
        told = ""
    return Content.assemble(head, told, (f"   {after}", "dim"))


def stories(
    showing: Showing, story: Explanation, width: int, *, causes: bool, names: bool
) -> Stories:
    """Every cue with its weight as a bar, those that decided first, then two more worth checking.

    `causes` adds why a cue is there, `names` the wines above the bars that point to them.
    """
    whole = story_width(width)
    found: list[tuple[Content, ...]] = []
    if names:
        found.append((side_names(showing.left.name, showing.right.name, width),))
    for one in story.cues:
        lines = _lines(one, width)
        if causes and one.because:
            words = shorten(one.because, whole, placeholder=" …")
            lines += (Content.styled(words.center(whole), "dim"),)
        found.append(lines)
    heading: tuple[Content, ...] = (Content.styled("also worth checking".center(whole), "dim"),)
    for one in story.also:
        found.append(heading + _lines(one, width, faint=True))
        heading = ()
    return tuple(found)


def _lines(story: CueStory, width: int, *, faint: bool = False) -> tuple[Content, ...]:
    return tuple(story_lines(story, width, faint=faint).split("\n"))
