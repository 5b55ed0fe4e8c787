"""Numbers in words, worked out by another program, as a reference for `voice::say`.

Library: num2words 0.5.14 (PyPI), language "en". It words numbers as in British English, with "and" and commas
("one thousand, two hundred and five"); both are taken out here, because we word them without. Decimals it gives
digit by digit after "point", as we do. Trailing zeros of a decimal are lost in it, so none are asked for.

Run:  pip install num2words==0.5.14 && python3 generate.py > numbers.tsv
Each line: kind, number, words.
"""

import random
from decimal import Decimal

from num2words import num2words


def plain(words: str) -> str:
    return words.replace(",", "").replace(" and ", " ")


def main() -> None:
    draw = random.Random(20260514)
    wholes = list(range(0, 131)) + [199, 200, 201, 999, 1000, 1001, 1010, 1013, 1100, 1999, 2000, 2400, 10_000, 99_999]
    wholes += [draw.randrange(10**digits) for digits in range(3, 16) for _ in range(12)]
    for n in wholes:
        print(f"whole\t{n}\t{plain(num2words(n))}")
    for n in list(range(1, 41)) + [50, 90, 99, 100, 101, 112, 120, 365, 1000]:
        print(f"ordinal\t{n}\t{plain(num2words(n, to='ordinal'))}")
    decimals = {"0.075", "0.5", "0.25", "5.75", "145.2", "0.0752", "100.01", "72.5", "2.112"}
    while len(decimals) < 150:
        places = draw.randrange(1, 5)
        n = Decimal(draw.randrange(10 ** draw.randrange(1, 8))).scaleb(-places)
        text = f"{n:f}"
        if "." in text and not text.endswith("0"):
            decimals.add(text)
    for text in sorted(decimals):
        print(f"decimal\t{text}\t{plain(num2words(Decimal(text)))}")


if __name__ == "__main__":
    main()
