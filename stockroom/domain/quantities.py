"""Lengths, masses and money as people type and read them; whole mm, whole g and whole minor units inside.

A length that does not come to whole millimetres is rounded the safe way, and the name of the function says which:
`stock_mm` rounds down (stock in hand is never more than was said), `need_mm` rounds up (a need is never less).

Source of the units: 1 in = 25.4 mm and 1 yd = 0.9144 m exactly, 1 oz/yd² = 33.905 75 g/m² (NIST SP 811, Appendix B).

>>> stock_mm("13 yd"), need_mm("13 yd")
(11887, 11888)
>>> show_length(11887)
'11.887 m'
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from stockroom.domain.refusal import Refusal
from stockroom.domain.wording import quoted

MM_IN: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "ft": Fraction(3048, 10),
    "yd": Fraction(9144, 10),
}
"""Length unit → mm, exact."""
G_M2_IN_OZ_YD2 = Fraction(3390575, 100000)
"""1 oz/yd² in g/m²."""
LONGEST_MM = 100_000_000
"""Longer than this (100 km) is a slip of the pen, whatever it is a length of."""
LARGEST_MINOR = 10**15
"""More money than this is a slip of the pen in any currency."""

_SPELLINGS = {
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("m", "metre", "metres", "meter", "meters"),
    "in": ("in", "inch", "inches", '"', "″", "”"),
    "ft": ("ft", "foot", "feet", "'", "′", "’"),
    "yd": ("yd", "yds", "yard", "yards"),
}
_UNIT_OF = {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings}
_NUMBER = r"[0-9]+ [0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
_TERM = re.compile(rf" ?({_NUMBER}) ?([a-z]+|[\"″”'′’])\.?")
_EXAMPLES = "Write it as 12.5 m, 13 yd, 54 in or 900 mm"
_NO_DECIMALS = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND XAF XOF"
_THREE_DECIMALS = "BHD IQD JOD KWD LYD OMR TND"


def stock_mm(text: str) -> int:
    """What is in hand, in whole mm, rounded down.

    >>> stock_mm('12.5 m'), stock_mm('12,5 m'), stock_mm('54 in'), stock_mm('5 ft 6 in'), stock_mm('900')
    (12500, 12500, 1371, 1676, 900)

    Raises `Refusal` for anything that is not plainly a length.
    """
    return math.floor(_exact_mm(text))


def need_mm(text: str) -> int:
    """What is needed, in whole mm, rounded up.

    >>> need_mm('54"'), need_mm('3 ft'), need_mm('1/2 in')
    (1372, 915, 13)

    Raises `Refusal` for anything that is not plainly a length.
    """
    return math.ceil(_exact_mm(text))


def show_length(length_mm: int) -> str:
    """A length as it is read, in metres; the third decimal appears only where it says something.

    >>> show_length(12500), show_length(12504), show_length(-40)
    ('12.50 m', '12.504 m', '-0.04 m')
    """
    sign = "-" if length_mm < 0 else ""
    metres, rest = divmod(abs(length_mm), 1000)
    shown = f"{rest // 10:02d}" if rest % 10 == 0 else f"{rest:03d}"
    return f"{sign}{metres}.{shown} m"


def say_back(text: str) -> str:
    """A length in hand as it was typed and as it is booked; what the rounding takes away is not hidden.

    >>> say_back('13 yd'), say_back('12.5 m')
    ('13 yd = 11.8872 m, booked as 11.887 m', '12.5 m, booked as 12.50 m')
    >>> say_back('25')
    '25 mm, booked as 0.025 m'
    """
    exact, booked = _exact_mm(text), stock_mm(text)
    typed = " ".join(text.split())
    typed = f"{typed} mm" if typed.isdecimal() else typed
    metres = f" = {float(exact / 1000):.4f} m" if exact != booked else ""
    return f"{typed}{metres}, booked as {show_length(booked)}"


def mass_per_area(text: str) -> int:
    """Mass per area in whole g/m², to the nearest, from '450 g/m2', '13 oz/yd2' or bare digits (g/m²).

    >>> mass_per_area('450'), mass_per_area('13 oz/yd²')
    (450, 441)
    """
    plain = " ".join(text.split()).lower().replace("²", "2")
    match = re.fullmatch(rf"({_NUMBER})(?: ?(g/m2|gsm|oz/yd2|oz))?", plain)
    if match is None or (match[2] is None and not re.fullmatch(r"[0-9]+", match[1])):
        raise Refusal(f"{quoted(text)} is not a mass per area. Write it as 450 g/m2 or 13 oz/yd2.")
    number = _number(match[1], text)
    return round(number * G_M2_IN_OZ_YD2 if (match[2] or "").startswith("oz") else number)


def cloth_mass_g(length_mm: int, width_mm: int, mass_g_m2: int) -> int:
    """Mass of a length of cloth, in whole g, rounded up: a lift is never called lighter than it is.

    >>> cloth_mass_g(length_mm=40_000, width_mm=1_400, mass_g_m2=450)
    25200
    """
    return -(-length_mm * width_mm * mass_g_m2 // 1_000_000)


def minor_digits(currency: str) -> int:
    """How many decimals a currency has (ISO 4217): 2 for most.

    >>> minor_digits('GBP'), minor_digits('JPY')
    (2, 0)
    """
    code = currency.upper()
    return 0 if code in _NO_DECIMALS.split() else 3 if code in _THREE_DECIMALS.split() else 2


def money_minor(text: str, currency: str) -> int:
    """Money in whole minor units, exactly; more decimals than the currency has are refused, not rounded.

    >>> money_minor('250.00', 'GBP'), money_minor('0.12 GBP', 'GBP'), money_minor('1200', 'JPY')
    (25000, 12, 1200)
    """
    code = currency.upper()
    plain = " ".join(text.split()).upper()
    plain = plain.removesuffix(code).removeprefix(code).strip()
    if not re.fullmatch(r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+", plain):
        raise Refusal(f"{quoted(text)} is not a sum of money in {code}. Write it in figures, such as 12.50.")
    minor = _number(plain, text) * 10 ** minor_digits(code)
    if minor.denominator != 1:
        raise Refusal(f"{quoted(text)} has more decimals than {code} has ({minor_digits(code)}). Write the whole sum.")
    if minor > LARGEST_MINOR:
        raise Refusal(f"{quoted(text)} is too much money to be meant. Check the figures.")
    return int(minor)


def show_money(minor: int, currency: str) -> str:
    """Money as it is read.

    >>> show_money(25000, 'GBP'), show_money(-5, 'GBP'), show_money(1200, 'JPY')
    ('250.00 GBP', '-0.05 GBP', '1200 JPY')
    """
    digits = minor_digits(currency)
    sign = "-" if minor < 0 else ""
    whole, rest = divmod(abs(minor), 10**digits)
    return f"{sign}{whole}{f'.{rest:0{digits}d}' if digits else ''} {currency.upper()}"


def _exact_mm(text: str) -> Fraction:
    """The length typed, in mm, unrounded."""
    plain = " ".join(text.split()).lower()
    if re.fullmatch(r"[0-9]+", plain):
        return _sensible(_number(plain, text), text)
    total, at, last = Fraction(0), 0, Fraction(10**9)
    while at < len(plain):
        term = _TERM.match(plain, at)
        unit = _UNIT_OF.get(term[2]) if term else None
        if term is None or unit is None or MM_IN[unit] >= last:
            raise Refusal(f"{quoted(text)} is not a length. {_EXAMPLES}; bare digits are millimetres.")
        total += _number(term[1], text) * MM_IN[unit]
        at, last = term.end(), MM_IN[unit]
    if not plain:
        raise Refusal(f"A length is missing. {_EXAMPLES}.")
    return _sensible(total, text)


def _sensible(length: Fraction, text: str) -> Fraction:
    if length > LONGEST_MM:
        raise Refusal(f"{quoted(text)} is too long to be meant. Check the figures and the unit.")
    return length


def _number(figures: str, text: str) -> Fraction:
    """A typed number, exact. A comma is a decimal comma unless it may be one between thousands."""
    if len(figures) > 20:
        raise Refusal(f"{quoted(text)} has too many figures. Check it.")
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", figures):
        plain, point = figures.replace(",", ""), figures.replace(",", ".")
        raise Refusal(f"{quoted(text)} can be read two ways. Write {plain} or {point} instead of {figures}.")
    whole, _, fraction = figures.rpartition(" ")
    try:
        return Fraction(int(whole or 0)) + Fraction(fraction.replace(",", "."))
    except ZeroDivisionError:
        raise Refusal(f"{quoted(text)} divides by nothing. {_EXAMPLES}.") from None
