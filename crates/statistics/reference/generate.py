#!/usr/bin/env python3
"""Reference values for the statistics crate, from general-purpose libraries.

    python3 -m venv venv
    venv/bin/pip install numpy scipy scikit-learn statsmodels pingouin krippendorff
    venv/bin/python generate.py > ../tests/data/reference.txt

Only seeds and values are written: a table is drawn again from its seed by the splitmix64 below, which
tests/reference.rs has too. One line a table: kind, seed, values; `-` where the value is undefined. The first lines name
the versions. README.md says which value comes from which library, and where a library answers although the figure
is undefined.
"""

import math
import platform
import sys
import warnings
from fractions import Fraction
from importlib.metadata import version

import krippendorff
import numpy as np
import pandas as pd
import pingouin
from scipy import special, stats
from sklearn.metrics import cohen_kappa_score
from statsmodels.stats.inter_rater import cohens_kappa, fleiss_kappa
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

warnings.simplefilter("ignore")
np.seterr(all="ignore")

PACKAGES = ["numpy", "scipy", "scikit-learn", "statsmodels", "pingouin", "krippendorff", "pandas"]
KINDS = {
    "kappa": 2000, "fleiss": 1500, "krippendorff": 1500, "icc": 1000, "alpha": 1000, "items": 1500,
    "describe": 1000, "trend": 500, "special": 1000,
}
WORD = (1 << 64) - 1
UNDEFINED = None


class Draw:
    """splitmix64."""

    def __init__(self, seed):
        self.state = seed

    def next(self):
        self.state = (self.state + 0x9E3779B97F4A7C15) & WORD
        z = self.state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & WORD
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & WORD
        return z ^ (z >> 31)

    def below(self, bound):
        return self.next() % bound

    def between(self, low, high):
        return low + self.below(high - low + 1)


def either(value):
    """The value, or undefined where a library answers with no number."""
    return value if value is not None and math.isfinite(value) else UNDEFINED


def ends(low, high, least=-math.inf, most=math.inf):
    low, high = either(low), either(high)
    return [UNDEFINED, UNDEFINED] if low is None or high is None else [max(low, least), min(high, most)]


def jackknife(value, left):
    """Interval from the figures without each unit; each figure is the library's, the sum over them is written here."""
    if any(figure is None for figure in left) or len(left) < 3:
        return [UNDEFINED, UNDEFINED]
    left = np.array(left)
    n = len(left)
    error = math.sqrt((n - 1) / n * ((left - left.mean()) ** 2).sum())
    if error < 1e-10:
        return [UNDEFINED, UNDEFINED]
    reach = stats.t.ppf(0.975, n - 1) * error
    return ends(value - reach, value + reach, -1, 1)


def kappa(draw):
    categories, pairs, agree = draw.between(2, 6), draw.between(1, 60), draw.below(101)
    used = draw.between(1, categories)
    first, second = [], []
    for _ in range(pairs):
        a = draw.below(used)
        first.append(a)
        second.append(a if draw.below(100) < agree else draw.below(used))
    same = sum(a == b for a, b in zip(first, second))
    out = [same / pairs, *proportion_confint(same, pairs, method="wilson")]
    table = np.zeros((categories, categories))
    for a, b in zip(first, second):
        table[a, b] += 1
    for weights in [None, "linear", "quadratic"]:
        value = either(cohen_kappa_score(first, second, labels=list(range(categories)), weights=weights))
        # One pair, or one mark throughout by both raters: undefined, whatever the library says.
        if pairs == 1 or len(set(first + second)) == 1:
            value = None
        if value is None:
            out += [UNDEFINED] * 3
            continue
        found = cohens_kappa(table, wt=weights)
        assert abs(found.kappa - value) < 1e-12
        # The library's root of a variance that is zero is the root of its rounding; exact fractions tell them apart.
        none = variance_is_zero(first, second, categories, weights)
        out += [value] + ([UNDEFINED] * 2 if none else ends(found.kappa_low, found.kappa_upp, -1, 1))
    return out


def variance_is_zero(first, second, categories, weights):
    apart = {None: lambda a, b: int(a != b), "linear": lambda a, b: abs(a - b), "quadratic": lambda a, b: (a - b) ** 2}
    weight, n, every = apart[weights], len(first), range(categories)
    rows, columns = [[Fraction(side.count(c), n) for c in every] for side in (first, second)]
    row_mean = [sum(weight(a, b) * columns[b] for b in every) for a in every]
    column_mean = [sum(weight(a, b) * rows[a] for a in every) for b in every]
    seen = Fraction(sum(weight(a, b) for a, b in zip(first, second)), n)
    ratio = seen / sum(row_mean[a] * rows[a] for a in every)
    spread = sum((weight(a, b) - (row_mean[a] + column_mean[b]) * ratio) ** 2 for a, b in zip(first, second)) / n
    return spread == seen**2


def fleiss(draw):
    categories, raters, rows = draw.between(2, 5), draw.between(1, 6), draw.between(1, 20)
    used, agree = draw.between(1, categories), draw.below(101)
    counts = np.zeros((rows, categories), int)
    for row in range(rows):
        truth = draw.below(used)
        for _ in range(raters):
            counts[row, truth if draw.below(100) < agree else draw.below(used)] += 1

    def figure(table):
        if (table.sum(0) > 0).sum() < 2:
            return None
        return either(fleiss_kappa(table))

    if raters == 1 or rows == 1 or figure(counts) is None:
        return [UNDEFINED] * 3
    value = figure(counts)
    return [value, *jackknife(value, [figure(np.delete(counts, at, 0)) for at in range(rows)])]


def krippendorffs(draw):
    raters, units, used, agree, gaps = (
        draw.between(1, 5), draw.between(1, 12), draw.between(1, 5), draw.below(101), draw.below(60))
    data = np.full((raters, units), np.nan)
    for unit in range(units):
        truth = draw.below(used)
        for rater in range(raters):
            mark = truth if draw.below(100) < agree else draw.below(used)
            if draw.below(100) >= gaps:
                data[rater, unit] = mark * mark

    def figure(table, level):
        pairable = table[:, (~np.isnan(table)).sum(0) > 1]
        marks = pairable[~np.isnan(pairable)]
        if len(set(marks)) < 2:
            return None
        # Only the pairable marks are handed on: the library refuses a table whose other marks make the second value.
        return either(krippendorff.alpha(pairable, level_of_measurement=level))

    pairable = (~np.isnan(data)).sum(0) > 1
    out = []
    for level in ["nominal", "ordinal", "interval"]:
        value = figure(data, level) if pairable.sum() > 1 else None
        if value is None:
            out += [UNDEFINED] * 3
            continue
        left = [figure(np.delete(data, at, 1), level) for at in range(units) if pairable[at]]
        out += [value, *jackknife(value, left)]
    return out


def iccs(draw):
    people, raters, able, severe, error = (
        draw.between(2, 12), draw.between(2, 5), draw.below(12), draw.below(6), draw.below(8))
    if people * raters < 5:  # the library takes five scores or more
        people = 3
    severity = [draw.between(0, severe) for _ in range(raters)]
    scores = np.zeros((people, raters))
    for person in range(people):
        own = draw.between(0, able)
        for rater in range(raters):
            scores[person, rater] = (own * 4 + severity[rater] * 2 + draw.between(0, error)) / 4
    n, k = people, raters
    grand = scores.mean()
    ss_people = k * ((scores.mean(1) - grand) ** 2).sum()
    ss_raters = n * ((scores.mean(0) - grand) ** 2).sum()
    ss_error = ((scores - scores.mean(1)[:, None] - scores.mean(0) + grand) ** 2).sum()
    ss_people, ss_raters, ss_error = (0 if s < 1e-20 else s for s in (ss_people, ss_raters, ss_error))
    if ss_people + ss_raters + ss_error == 0:
        return [UNDEFINED] * 18
    msb, msj, mse = ss_people / (n - 1), ss_raters / (k - 1), ss_error / ((n - 1) * (k - 1))
    msw = (ss_raters + ss_error) / (n * (k - 1))
    wide = pd.DataFrame(scores).reset_index().melt(id_vars="index", var_name="rater", value_name="score")
    # Its F divides by what is left over; a table that leaves nothing is beyond it.
    theirs = None
    if ss_people > 0 and ss_error > 0:
        pingouin.options["round.column.CI95"] = 17
        theirs = pingouin.intraclass_corr(wide, targets="index", raters="rater", ratings="score")
    forms = [
        (msb - msw, msb + (k - 1) * msw),
        (msb - mse, msb + (k - 1) * mse + k * (msj - mse) / n),
        (msb - mse, msb + (k - 1) * mse),
        (msb - msw, msb),
        (msb - mse, msb + (msj - mse) / n),
        (msb - mse, msb),
    ]
    out = []
    for at, (over, under) in enumerate(forms):
        if under <= 1e-12 or (at >= 3 and msb == 0):
            out += [UNDEFINED] * 3
            continue
        value = over / under
        low, high = None, None
        if theirs is not None:
            value = theirs["ICC"].iloc[at]
            assert abs(value - over / under) < 1e-9 * max(1, abs(value)), (value, over / under)
            low, high = theirs.iloc[at][[c for c in theirs.columns if c.startswith("CI95")][0]]
        elif at in (0, 3) and msw > 0 and msb > 0:
            f = msb / msw
            fl, fu = f / stats.f.ppf(0.975, n - 1, n * (k - 1)), f * stats.f.ppf(0.975, n * (k - 1), n - 1)
            low, high = [(x - 1) / (x + k - 1) if at == 0 else 1 - 1 / x for x in (fl, fu)]
        if at in (1, 4) and low is not None:
            icc2, fj = forms[1][0] / forms[1][1] if forms[1][1] > 1e-12 else None, msj / mse
            v = None
            if icc2 is not None:
                rest = n * (1 + (k - 1) * icc2) - k * icc2
                v = (n - 1) * (k - 1) * (k * icc2 * fj + rest) ** 2 / ((n - 1) * (k * icc2 * fj) ** 2 + rest**2)
            if v is None or v < 1:
                low, high = None, None
            elif at == 4:
                # Below −1 / (k − 1) the step to the mean of k has no value; the library prints what the formula gives.
                f2u = stats.f.ppf(0.975, n - 1, v)
                l2 = n * (msb - f2u * mse) / (f2u * (k * msj + (k * n - k - n) * mse) + n * msb)
                if 1 + l2 * (k - 1) <= 1e-12:
                    low, high = None, None
        low, high = ends(low, high)
        out += [value, low, high]
    return out


def alphas(draw):
    people, items, able, most = draw.between(1, 15), draw.between(1, 8), draw.below(10), draw.between(1, 5)
    marks = np.zeros((people, items))
    for person in range(people):
        own = draw.between(0, able)
        for item in range(items):
            marks[person, item] = min(most, (own + draw.below(10)) * (most + 1) // 20)
    binary = most == 1
    if people < 2 or items < 2 or marks.sum(1).std() == 0:
        return [UNDEFINED] * 3
    value, rounded = pingouin.cronbach_alpha(pd.DataFrame(marks))
    if 1 - value < 1e-10:
        return [value, UNDEFINED, UNDEFINED]
    f = stats.f.isf([0.025, 0.975], people - 1, (people - 1) * (items - 1))
    low, high = 1 - (1 - value) * f
    assert np.all(np.abs(np.array(rounded) - [low, high]) <= 0.00051 * max(1, abs(low))), (rounded, low, high)
    return [value, low, high]


def item(draw):
    people, items, able = draw.between(1, 40), draw.between(1, 8), draw.below(60)
    right = np.zeros((people, items), int)
    for person in range(people):
        own = draw.between(0, able)
        for at in range(items):
            right[person, at] = draw.below(100) < 30 + own + at
    one, total = right[:, 0], right.sum(1)
    out = [one.mean(), *proportion_confint(one.sum(), people, method="wilson")]
    for score in [total - one, total]:
        if items < 2 or people < 3 or one.std() == 0 or score.std() == 0:
            out += [UNDEFINED] * 3
            continue
        found = stats.pearsonr(one, score)
        out.append(found.statistic)
        if people < 4 or 1 - abs(found.statistic) < 1e-12:
            out += [UNDEFINED] * 2
        else:
            out += list(found.confidence_interval(0.95))
    if items < 2 or people < 2 or total.std() == 0:
        return out + [UNDEFINED] * 3
    # Ties at the edge share the places left: the mean over all orders of the tied.
    group = max(1, (27 * people + 50) // 100)
    ranks_high, ranks_low = stats.rankdata(-total, "min"), stats.rankdata(total, "min")

    def shares(ranks):
        weight = np.zeros(people)
        for rank in set(ranks):
            here = ranks == rank
            weight[here] = min(max(group - (rank - 1), 0) / here.sum(), 1)
        return weight

    high, low = (shares(ranks_high) * one).sum(), (shares(ranks_low) * one).sum()
    d = high / group - low / group
    return out + [d, *confint_proportions_2indep(high, group, low, group, compare="diff", method="newcomb")]


def describe(draw):
    n, spread, places = draw.between(1, 40), draw.between(1, 1000), 10.0 ** draw.below(4)
    offset = draw.below(1000)
    values = np.array([(offset + draw.below(spread)) / places for _ in range(n)])
    out = [values.mean()]
    constant = len(set(values)) == 1
    if n < 2 or constant:
        out += [UNDEFINED] * 2
    else:
        out += list(stats.t.interval(0.95, n - 1, values.mean(), stats.sem(values)))
    out += [UNDEFINED] * 2 if n < 2 else [0.0 if constant else values.var(ddof=1), 0.0 if constant else values.var()]
    out.append(np.median(values))
    interval = stats.quantile_test(values, q=np.median(values), p=0.5).confidence_interval(0.95)
    out += ends(*interval)
    out += [np.quantile(values, 0.25), np.quantile(values, 0.9), values.min(), values.max()]
    return out


def trends(draw):
    n, rise, noise = draw.between(1, 20), draw.below(21) - 10, draw.below(30)
    points = []
    for at in range(n):
        place = draw.below(n)
        points.append((place / 2, (rise * place + draw.between(0, noise)) / 8))
    xs, ys = np.array(points).T
    if n < 2 or len(set(xs)) == 1:
        return [UNDEFINED] * 4
    found = stats.linregress(xs, ys)
    left = ((ys - found.intercept - found.slope * xs) ** 2).sum()
    out = [found.slope]
    if n < 3 or left < 1e-20:
        out += [UNDEFINED] * 2
    else:
        reach = stats.t.ppf(0.975, n - 2) * found.stderr
        out += [found.slope - reach, found.slope + reach]
    return out + [found.intercept]


def specials(draw):
    size = 10.0 ** draw.between(0, 4)
    numerator, denominator = draw.between(4, 40 * int(size)) / 8, draw.between(4, 40 * int(size)) / 8
    p = draw.between(1, 999) / 1000
    return [
        stats.f.ppf(p, numerator, denominator), stats.t.ppf(0.975, numerator),
        special.betainc(numerator, denominator, p), special.gammaln(numerator), stats.norm.ppf(0.975),
    ]


DRAWN = {
    "kappa": kappa, "fleiss": fleiss, "krippendorff": krippendorffs, "icc": iccs, "alpha": alphas, "items": item,
    "describe": describe, "trend": trends, "special": specials,
}


def main():
    print(f"# python {platform.python_version()}")
    for name in PACKAGES:
        print(f"# {name} {version(name)}")
    for kind, tables in KINDS.items():
        for seed in range(1, tables + 1):
            values = DRAWN[kind](Draw(seed))
            print(kind, seed, *("-" if value is None else f"{float(value):.17g}" for value in values))
        print(kind, "done", file=sys.stderr)


if __name__ == "__main__":
    main()
