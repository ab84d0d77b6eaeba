"""What a phrase of a written name may mean, and what of a wine and a place decides between them.

Sets of wines are whole numbers with one bit for each wine.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from cards.profiles import Profile
from cards.tables import NamedThing


@dataclass(slots=True)
class Mention:
    """All readings of one phrase; wines are bits. `main` holds the wines of which a grape is the
    main one, `share` those that hold any of it. `exact` holds the wines of just that place,
    `upward` also those of a larger place round it, `around` those of places inside it, `listed`
    those that bear a name of it with their grape (“Swartland Chenin”), `near` those of its
    surroundings, for suggestions. `kin` are variants of `wines`, such as the aged one."""

    phrase: str
    length: int
    wines: int = 0
    kin: int = 0
    main: int = 0
    share: int = 0
    is_grape: bool = False
    exact: int = 0
    upward: int = 0
    around: int = 0
    listed: int = 0
    near: int = 0
    classic: int = 0
    is_place: bool = False
    country: int = 0
    is_country: bool = False
    category: str = ""
    value: str = ""
    style: int = 0
    noise: bool = False
    stop: bool = False

    @property
    def has_parts(self) -> bool:
        """Whether the phrase means anything besides the name of a wine."""
        return bool(
            self.is_grape
            or self.is_place
            or self.is_country
            or self.category
            or self.noise
            or self.stop
        )


@dataclass(frozen=True, slots=True)
class Place:
    """A place with the places round it, nearest first."""

    thing: NamedThing
    round_it: tuple[str, ...]


@dataclass(slots=True)
class Facts:
    """What the index must know of one wine to choose between wines.

    `marks` are the words beside grape and place in its key, such as “auslese”; `tint` a colour
    there; `base` the wine of which it is a variant.
    """

    key: str
    bit: int
    profile: Profile
    own: set[str] = field(default_factory=set)
    values: dict[str, set[str]] = field(default_factory=dict)
    marks: set[tuple[str, str]] = field(default_factory=set)
    tint: set[tuple[str, str]] = field(default_factory=set)
    base: int = 0
    variants: int = 0
