"""The next flight: planned, its sheets written, revealed glass by glass."""

from __future__ import annotations

import argparse

from drills.commands.asking import Commands, desk_of


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    group = commands.add_group("flight", "the next flight, poured blind from your weak pairs")
    _add_plan(group)
    sheets = group.add("sheets", _sheets, "write key, shopping list and blank sheets", json=True)
    _take_number(sheets)
    sheets.add_argument("--folder", metavar="DIR", default=".", help="where to; here by default")
    sheets.add_argument("--force", action="store_true", help="write over files that are there")
    sheets.add_argument("--pdf", action="store_true", help="as PDF too (needs Chromium)")
    sheets.add_argument("--paper", choices=["a4", "letter"], help="size; the printer's by default")
    sheets.add_argument(
        "--tasters-only", action="store_true", help="only the blank sheets, which name no wine"
    )
    reveal = group.add("reveal", _reveal, "reveal the next glass, or that of a code", json=True)
    _take_number(reveal)
    reveal.add_argument("code", metavar="CODE", nargs="?", type=_whole, help="a glass by its code")
    reveal.add_argument("--all", action="store_true", help="every glass that is sealed still")
    group.add("list", _list, "list the planned flights", json=True)


def _add_plan(group: Commands) -> None:
    plan = group.add("plan", _plan, "choose the wines of the next flight and seal them", json=True)
    plan.add_argument(
        "--bottles", type=_whole, default=6, metavar="N", help="how many; 6 if unsaid"
    )
    plan.add_argument(
        "--budget", type=_price, metavar="X", help="what the bottles to buy may cost together"
    )
    plan.add_argument("--dearest", type=_price, metavar="X", help="the most for any bottle")
    plan.add_argument(
        "--usual-price",
        type=_price,
        metavar="X",
        help="for bottles of unknown price; the middle price of your cellar if unsaid",
    )
    plan.add_argument("--cellar-only", action="store_true", help="only bottles of your cellar")
    plan.add_argument(
        "--tasters", metavar="N|NAMES", default="", help="a number, or names with commas between"
    )
    plan.add_argument(
        "--white-first", action="store_true", help="serve by style: sparkling, white, rosé, red ..."
    )
    plan.add_argument(
        "--share",
        action="store_true",
        help="where wines are too many for one, each taster tastes some of them",
    )
    plan.add_argument("--decoys", type=_whole, metavar="N", help="wines of no weak pair among them")
    plan.add_argument("--seed", type=_whole, metavar="N", help="the same seed draws the same")
    plan.add_argument(
        "--open", action="store_true", help="say which wines: for the helper, not the taster"
    )


def _take_number(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "number",
        metavar="N",
        nargs="?",
        type=_whole,
        help="a planned flight, else the open one",
    )


def _plan(options: argparse.Namespace) -> int:
    from drills.commands.flight_text import flight_json, print_flight
    from drills.commands.printing import print_json, waiting_for
    from drills.service.flight_showing import Asked
    from drills.service.planned_flights import find_record, look
    from drills.service.pouring import plan, tasters_said

    desk = desk_of(options)
    asked = Asked(
        bottles=options.bottles,
        budget=options.budget,
        dearest=options.dearest,
        usual_price=options.usual_price,
        cellar_only=options.cellar_only,
        tasters=tasters_said(options.tasters) if options.tasters else (),
        white_first=options.white_first,
        decoys=options.decoys,
        seed=options.seed,
        shared=options.share,
    )
    with waiting_for("choosing the wines ..."):
        flight = plan(desk, asked)
    if options.open:
        flight = look(find_record(desk, flight.number), unsealed=True)
    if options.json:
        print_json(flight_json(flight))
    else:
        print_flight(desk, flight, named=bool(options.taster))
    return 0


def _sheets(options: argparse.Namespace) -> int:
    from drills.commands.flight_text import print_sheets
    from drills.commands.printing import BarOnTerminal, print_json
    from drills.service.flight_sheets import write_sheets

    with BarOnTerminal() as bar:
        written = write_sheets(
            desk_of(options),
            options.number,
            options.folder,
            overwrite=options.force,
            pdf=options.pdf,
            paper=options.paper,
            only_tasters=options.tasters_only,
            progress=bar.part(0.0, 1.0),
        )
    if options.json:
        print_json(
            {
                "flight": written.number,
                "helper": [str(path) for path in written.helper],
                "tasters": [str(path) for path in written.tasters],
            }
        )
    else:
        print_sheets(written)
    return 0


def _reveal(options: argparse.Namespace) -> int:
    from drills.commands.flight_text import flight_json, print_glass, print_revealed
    from drills.commands.printing import print_json
    from drills.service.planned_flights import own_record, reveal_codes, reveal_next

    desk = desk_of(options)
    if options.all:
        record = own_record(desk, options.number)
        shut = [pour.code for pour in record.pours if pour.revealed_at is None]
        flight = reveal_codes(desk, record.number, shut)
        shown = [glass for glass in flight.glasses if glass.code in shut]
    else:
        number, code = options.number, options.code
        if number is not None and code is None and number >= 100:
            # One number of three digits is a code: so many flights nobody has planned.
            number, code = None, number
        flight, glass = reveal_next(desk, number, code)
        shown = [glass]
    if options.json:
        print_json(flight_json(flight))
        return 0
    # With the last glass it can be said of all why they were poured.
    for glass in shown if flight.sealed else flight.glasses:
        print_glass(desk, glass)
    print_revealed(flight)
    return 0


def _list(options: argparse.Namespace) -> int:
    from drills.commands.flight_text import flight_json, print_flights
    from drills.commands.printing import print_json
    from drills.service.planned_flights import planned_flights

    found = planned_flights(desk_of(options))
    if options.json:
        print_json([flight_json(one) for one in found])
    else:
        print_flights(found)
    return 0


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdecimal()) or len(text) > 9:
        raise argparse.ArgumentTypeError(f"“{text[:20]}” should be a whole number")
    return int(text)


def _price(text: str) -> float:
    from drills.tastings.figures import read_decimal

    try:
        return read_decimal(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
