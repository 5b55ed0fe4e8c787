"""Writes ../data/reference.tsv: marks of the instruments in ../data/scales.tsv as outside libraries word them.

    pip install num2words==0.5.14 inflect==7.6.0
    python generate.py > ../data/reference.tsv

The wording of every number comes from the two libraries; this script only chooses the marks (seeded), joins a sign or
a unit, and leaves out what has two meanings on an instrument with two decimals (a whole number in pairs).
"""

import random
from decimal import Decimal
from importlib.metadata import version
from pathlib import Path

import inflect
from num2words import num2words

DATA = Path(__file__).parent.parent / "data"
UNITS = {
    "%": "percent", "in": "inches", "mm": "millimetres", "lb": "pounds", "kg": "kilograms", "pt": "pints",
    "L": "litres", "°F": "degrees Fahrenheit", "°C": "degrees Celsius", "psi": "psi", "MPa": "megapascals",
    "gal": "gallons", "ft³": "cubic feet", "yd³": "cubic yards", "lb/ft³": "pounds per cubic foot",
    "kg/m³": "kilograms per cubic metre", "mi/h": "miles per hour",
}
words = inflect.engine()


def plain(value):
    """The value as a text without needless zeros."""
    return format(value.normalize(), "f")


def fraction(part):
    """A part of one in the words of the libraries, or None if it is no half, quarter, eighth or tenth."""
    for of in (2, 4, 8, 10):
        above = part * of
        if above == above.to_integral_value() and above % 2 or (of == 10 and above == above.to_integral_value()):
            name = {2: "half", 4: "quarter"}.get(of, num2words(of, to="ordinal"))
            above = int(above)
            return f"{num2words(above)} {words.plural(name, above)}"
    return None


def wordings(value, places):
    """Everything the libraries say for a value without its sign."""
    text = plain(value)
    yield num2words(text if "." in text else int(text))
    yield words.number_to_words(text, andword="")
    yield words.number_to_words(text, andword="and", zero="oh") if "." in text else words.number_to_words(text)
    whole, _, decimals = text.partition(".")
    if len(whole) > 1:
        said = words.number_to_words(whole, group=1, zero="oh")
        yield f"{said} point {words.number_to_words(decimals, group=1)}" if decimals else said
    if not decimals and places != 2 and 1100 <= value <= 9999 and value % 1000 >= 100:
        yield num2words(int(whole), to="year")
    part = value % 1
    if part and value > 1 and (said := fraction(part)):
        yield f"{num2words(int(value))} and {said}"
    if part and value < 1 and (said := fraction(part)):
        yield said


def main():
    chance = random.Random(20260)
    print("# Marks as two libraries word them: instrument (see scales.tsv), words, mark. Made by ../reference/generate.py")
    print(f"# with num2words {version('num2words')} and inflect {version('inflect')}.")
    seen = set()
    for line in (DATA / "scales.tsv").read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            continue
        name, step, low, high, unit = line.split("\t")
        step, low, high = Decimal(step), Decimal(low), Decimal(high)
        places = max(0, -step.normalize().as_tuple().exponent)
        for _ in range(14):
            value = step * chance.randint(int(low / step), int(high / step))
            for said in wordings(abs(value), places):
                said = f"minus {said}" if value < 0 else said
                if unit in UNITS and chance.random() < 0.4:
                    said = f"{said} {UNITS[unit]}"
                if (name, said) not in seen:
                    seen.add((name, said))
                    print(f"{name}\t{said}\t{value.quantize(Decimal(1).scaleb(-places))}")


main()
