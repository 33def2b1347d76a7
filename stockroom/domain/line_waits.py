"""What a whole order line or a whole kit waits for, and what the shop is advised of."""

from __future__ import annotations

from stockroom.domain.conditions import holds, missing
from stockroom.domain.kit_line import KitLine, KitPlace
from stockroom.domain.order import Wait
from stockroom.domain.refusal import Refusal
from stockroom.domain.rules import facts_asked
from stockroom.domain.wording import listed, literal, quoted


def fits_code(kit: str) -> str:
    """The code under which it can be overruled that a kit does not fit a car."""
    return f"fits:{kit}"


def check_fit(line: KitLine, place: KitPlace) -> None:
    """Waits where the kit does not fit the car, or where it cannot be told."""
    kit, answers = place.kit, line.answers
    said = line.case.request.overruled.get(fits_code(kit.code))
    if said is not None:
        if said.then.strip().casefold() not in ("yes", "true"):
            raise Refusal(f"Overruling that kit {quoted(kit.code)} does not fit the car takes the answer 'yes'.")
        return
    told = holds(kit.when, answers.case)
    if told:
        return
    for holder in line.within(place):
        if told is None:
            for fact in missing(kit.when, answers.case):
                answers.wait_for_fact(fact, holder)
        else:
            question = (
                f"By the book the kit {quoted(kit.code)} ({kit.title}) is not for this car. "
                "Say 'yes' with initials and a reason to make it all the same."
            )
            answers.wait(Wait("rule", fits_code(kit.code), question, ("yes",)), holder)


def fit_overruled(line: KitLine, place: KitPlace) -> tuple[str, ...]:
    """The sentence where a kit is made although it does not fit the car by the book."""
    codes = place.path.split("/")
    overruled = line.case.request.overruled
    return tuple(
        f"{literal(said.by)} said that kit {quoted(code)} is made for this car all the same: {literal(said.because)}"
        for code in codes
        if (said := overruled.get(fits_code(code)))
    )


def wait_for_the_customer(line: KitLine) -> None:
    """Notes swatches, which the whole line waits for, and each kit's own measurements and choices."""
    request, answers = line.case.request, line.answers
    for swatch in request.swatches:
        answers.wait(Wait("swatch", swatch, f"Does the customer agree to the swatch of {literal(swatch)}?"), "")
    reckoned_with = {fact for code in answers.rules_told() for fact in facts_asked(line.book.rules[code])}
    for place in line.places:
        if request.pieces and not any(code in request.pieces for code in place.kit.pieces):
            continue
        for question in place.kit.measurements:
            if not request.measurements.get(question, "").strip():
                for holder in line.within(place):
                    answers.wait(Wait("measurement", question, question), holder)
        for option in () if request.pieces else place.kit.options:
            if option not in answers.case.choices and f"option {option}" not in reckoned_with:
                # No rule of these kits looked at it, so nothing says what hangs on it: everything of the kit does.
                for holder in line.within(place):
                    answers.wait_for_option(option, holder)


def advise(line: KitLine) -> None:
    """Which colours usually go together: advice only."""
    car, answers = line.case.car, line.answers
    chosen: dict[str, tuple[str | None, ...]] = {
        "hood": (car.hood_colour,),
        "body": (car.body_colour,),
        "piping": tuple(line.piped_in),
    }
    for pairing in line.book.pairings:
        if pairing.trim != car.trim_colour:
            continue
        because = f"{pairing.because.strip().rstrip('.')}. " if pairing.because.strip() else ""
        for part, usual in pairing.goes_with.items():
            names = listed((answers.colour_name(code) for code in usual), "or")
            for colour in chosen.get(part, ()):
                if colour and colour not in usual:
                    trim, name = answers.colour_name(pairing.trim), answers.colour_name(colour)
                    said = f"With {trim} trim the {part} is usually {names}; here it is {name}. {because}Advice only."
                    line.advice[said] = None
