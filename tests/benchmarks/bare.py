"""The baselines on a terminal: the least that a program of this kind could do.

`python bare.py row FILE` shows one row of a SQLite file with Textual and SQLModel, with fsrs
imported; `python bare.py key` changes one line at each key, `python bare.py lines` as many lines as
a card and its reveal take.
"""

from __future__ import annotations

import sys

SHOWN = "one row is shown"
COUNTED = "keys counted"
LINES = 24


def make_row(file: str) -> None:
    """Make the file whose one row is shown."""
    from sqlmodel import Field, Session, SQLModel, create_engine

    class Line(SQLModel, table=True):
        id: int | None = Field(default=None, primary_key=True)
        words: str

    engine = create_engine(f"sqlite:///{file}")
    SQLModel.metadata.create_all(engine)
    with Session(engine) as session:
        session.add(Line(words=SHOWN))
        session.commit()
    engine.dispose()


def show_row(file: str) -> None:
    """Read the row and show it."""
    import fsrs
    from sqlmodel import Field, Session, SQLModel, create_engine, select
    from textual.app import App, ComposeResult
    from textual.widgets import Static

    class Line(SQLModel, table=True):
        id: int | None = Field(default=None, primary_key=True)
        words: str

    with Session(create_engine(f"sqlite:///{file}")) as session:
        words = session.exec(select(Line)).one().words

    class Bare(App[None]):
        scheduler = fsrs.Scheduler

        def compose(self) -> ComposeResult:
            yield Static(words)

    Bare().run()


def count_keys(lines: int) -> None:
    """Change so many lines of one text at each key."""
    from textual.app import App, ComposeResult
    from textual.events import Key
    from textual.widgets import Static

    class Bare(App[None]):
        counted = 0

        def compose(self) -> ComposeResult:
            yield Static(f"0 {COUNTED}", markup=False)

        def on_key(self, event: Key) -> None:
            if event.character == "a":
                self.counted += 1
                above = f"{self.counted} keys up to this line\n" * (lines - 1)
                self.query_one(Static).update(f"{above}{self.counted} {COUNTED}")

    Bare().run()


if __name__ == "__main__":
    if sys.argv[1] == "row":
        show_row(sys.argv[2])
    else:
        count_keys(LINES if sys.argv[1] == "lines" else 1)
