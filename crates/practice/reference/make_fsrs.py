"""Writes fsrs-6.3.2.txt: random histories of tries and what the PyPI package `fsrs` makes of them.

    python -m venv v && v/bin/pip install fsrs==6.3.2 && v/bin/python make_fsrs.py > fsrs-6.3.2.txt

One line a history: ratings (1 again, 2 hard, 3 good, 4 easy), days since the try before (0: the same day), stability and
difficulty after the last try, the interval in days at a retention of 0.9, and the chance of recall so many days later.
Without learning steps and without fuzz: both are not part of the memory model.
"""

import importlib.metadata
import random
from datetime import datetime, timedelta, timezone

from fsrs import Card, Rating, Scheduler

VERSION = importlib.metadata.version("fsrs")
HISTORIES = 3000
random.seed(20260514)

scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False, desired_retention=0.9)
print(f"# PyPI package fsrs {VERSION} (MIT licence), default parameters, retention 0.9; made by make_fsrs.py")
print("# ratings | days since the try before | stability | difficulty | interval in days | days later | recall then")
for n in range(HISTORIES):
    card = Card()
    now = datetime(2026, 1, 1, 12, tzinfo=timezone.utc)
    ratings, days = [], []
    # A third of the histories are mostly right, as a record of practice is; the others are anything.
    weights = (1, 2, 12, 1) if n % 3 == 0 else (1, 1, 1, 1)
    for review in range(1 + n % 14):
        gap = 0 if review == 0 else random.choice((0, 0, 1, 1, 2, 3, random.randint(1, 30), random.randint(1, 400)))
        rating = random.choices((1, 2, 3, 4), weights)[0]
        now += timedelta(days=gap, minutes=0 if gap else 5)
        # The package counts whole periods of 24 hours: keep the time of day from drifting backwards.
        card, _ = scheduler.review_card(card, Rating(rating), now)
        ratings.append(rating)
        days.append(gap)
    later = random.randint(0, 200)
    recall = scheduler.get_card_retrievability(card, now + timedelta(days=later))
    interval = (card.due - now).days
    print(
        "".join(map(str, ratings)),
        ",".join(map(str, days)),
        repr(card.stability),
        repr(card.difficulty),
        interval,
        later,
        repr(recall),
        sep=" | ",
    )
