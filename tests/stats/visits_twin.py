"""A slow twin of `evenhand.stats.visits`, written with loops from the words of the method, not from the code."""

from __future__ import annotations

import math


def visits_of(sticks):
    """Sticks [(day, at, y, weight)] of one wear, as a list of days, each (day, [visit, ...])."""
    days = []
    for stick in sorted(sticks, key=lambda one: (one[0], one[1])):
        if not days or days[-1][0] != stick[0]:
            days.append((stick[0], [[stick]]))
        elif stick[1] - days[-1][1][-1][-1][1] < 45 * 60:
            days[-1][1][-1].append(stick)
        else:
            days[-1][1].append([stick])
    return days


def joined_days(days):
    """Lists of visits: a day with one visit joins the next until two are held; a last one alone, the one before."""
    groups, held = [], []
    for _, visits in days:
        held = held + visits
        if len(held) >= 2:
            groups.append(held)
            held = []
    if held:
        if groups:
            groups[-1] = groups[-1] + held
        else:
            groups.append(held)
    return groups


def scatter(visits, n):
    """S/(S-1) times the sum over visits of (sum of (y - mean))^2 / n^2, the mean being that of these visits."""
    values = [stick[2] for visit in visits for stick in visit]
    mean = math.fsum(values) / len(values)
    sums = [math.fsum(stick[2] - mean for stick in visit) ** 2 for visit in visits]
    return len(visits) / (len(visits) - 1) * math.fsum(sums) / n**2


def slow_visit_mean(y, wear, day, at, cells=None, weights=None, least_days=2):
    """The same numbers as a dict; `cells` a list of (wear, day, minutes)."""
    rows = {}
    for i, label in enumerate(wear):
        weight = 1.0 if weights is None else weights[i]
        rows.setdefault(label, []).append((day[i], at[i], y[i], weight))
    minutes = {}
    for label, date, amount in cells or []:
        if amount > 0:
            minutes.setdefault(label, {}).setdefault(date, 0.0)
            minutes[label][date] += amount
    left, counted = {}, {}
    for label in sorted(set(rows) | set(minutes)):
        days = visits_of(rows.get(label, []))
        if sum(len(visits) for _, visits in days) < 3:
            left[label] = "few-visits"
        elif len(days) < least_days:
            left[label] = "one-pricked-day"
        elif cells is not None and label not in minutes:
            left[label] = "no-eligible-minutes"
        else:
            counted[label] = days
    if not counted:
        return {"value": None, "left_out": left}
    size = {
        label: (
            sum(stick[3] for _, visits in days for visit in visits for stick in visit)
            if cells is None or weights is not None
            else sum(minutes[label].values())
        )
        for label, days in counted.items()
    }
    total = math.fsum(size.values())
    pricked = sum(len(days) for days in counted.values())
    k = len(counted)
    plain = weights is not None or pricked == k
    value = within = between = visits_in_all = joined = n_in_all = 0
    chi, cell_count = 0.0, 0
    for label, days in counted.items():
        share = size[label] / total
        visits = [visit for _, of_day in days for visit in of_day]
        sticks = [stick for visit in visits for stick in visit]
        n, s = len(sticks), len(visits)
        heavy = math.fsum(stick[3] for stick in sticks)
        mean = math.fsum(stick[3] * stick[2] for stick in sticks) / heavy
        value += share * mean
        sums = [math.fsum(stick[3] * (stick[2] - mean) for stick in visit) ** 2 for visit in visits]
        vs = s / (s - 1) * math.fsum(sums) / heavy**2
        groups = joined_days(days)
        vd = vs if plain else math.fsum(scatter(group, n) for group in groups)
        within += share**2 * vd
        between += share**2 * max(vs - vd, 0.0)
        visits_in_all += s
        joined += len(groups)
        n_in_all += n
        if cells is not None and not plain:
            found = dict.fromkeys(minutes[label], 0)
            for date, of_day in days:
                if date in found:
                    found[date] += len(of_day)
            for date, amount in minutes[label].items():
                expected = s * amount / math.fsum(minutes[label].values())
                chi += (found[date] - expected) ** 2 / max(expected, 0.2)
                cell_count += 1
    phi = chi / (cell_count - k) if cells is not None and not plain and cell_count > k else 1.0
    variance = within + phi * between
    if plain:
        df = visits_in_all - k
    else:
        spread = within**2 / (visits_in_all - joined) + (phi * between) ** 2 / (pricked - k)
        df = variance**2 / spread if spread > 0 else pricked - k
        df = min(max(df, pricked - k), visits_in_all - k)
    return {
        "value": value, "variance": variance, "df": df, "phi": phi, "n": n_in_all, "k": k, "days": pricked,
        "visits": visits_in_all, "joined": joined, "within": within, "between": between, "left_out": left,
    }  # fmt: skip
