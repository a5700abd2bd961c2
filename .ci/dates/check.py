"""Ten thousand random parts through the program and through dateutil: every due date and state must be equal.

The periods below were written from the fact sheets' sources (49 CFR 180.209 and the makers' figures named in
schema/rules/us.toml), not from the packs, so that a slip in a pack shows.
"""

import csv, datetime, json, pathlib, random, subprocess, sys, tempfile
from dateutil.relativedelta import relativedelta

PARTS = 10_000
TODAY = datetime.date(2028, 2, 29)
AFTER = {"external-visual": 5, "proof-pressure": 10, "volumetric": 12}
FOUR_SERIES = ["DOT-4B", "DOT-4BA240", "DOT-4BW240", "DOT-4B240ET", "DOT-4E240", "4BA240", "dot 4bw 260"]
AGE = {"hose": 10, "regulator": 15, "lp-detector": 5, "co-detector": 5, "smoke-alarm": 10}
LABEL_GOVERNS = {"lp-detector", "co-detector", "smoke-alarm"}


def month_end(day):
    return day + relativedelta(day=31)


def parse(text):
    """A date as the last day it can mean, and whether it is known to the month only."""
    if len(text) == 7:
        return datetime.date.fromisoformat(text + "-01"), True
    return datetime.date.fromisoformat(text), False


def later(text, years):
    day, by_month = parse(text)
    moved = day + relativedelta(years=years)
    return month_end(moved) if by_month else moved


def last(text):
    day, by_month = parse(text)
    return month_end(day) if by_month else day


def expected(part, marks):
    kind = part["kind"]
    if kind == "cylinder":
        base = None
        if marks:
            month, method = max(marks)
            base = later(month, AFTER[method])
        elif part["made"]:
            base = later(part["made"][:7], 12)
        notice = base and base.replace(day=1)
    else:
        base = later(part["made"], AGE[kind]) if part["made"] else None
        notice = None
    if part["replace_by"]:
        label = last(part["replace_by"])
        if kind in LABEL_GOVERNS:
            base = label
        elif base and label < base:
            base = label
    if notice is None and base:
        notice = base - relativedelta(days=60)
    elif base and kind == "cylinder":
        by_month = not part["replace_by"] or len(part["replace_by"]) == 7 or last(part["replace_by"]) != base
        notice = base.replace(day=1) if by_month else base - relativedelta(months=1)
    if base is None:
        return None, "undated"
    if base < TODAY:
        return base.isoformat(), "overdue"
    return base.isoformat(), "due" if notice <= TODAY else "in-date"


def random_date(rng, first, span_years):
    ends = [(2, 28), (2, 29), (1, 31), (4, 30), (12, 31), (3, 1)]
    while True:
        year = first + rng.randrange(span_years)
        month, day = rng.choice(ends) if rng.random() < 0.4 else (rng.randrange(1, 13), rng.randrange(1, 32))
        try:
            found = datetime.date(year, month, day)
        except ValueError:
            continue
        if found <= TODAY:
            return found.isoformat() if rng.random() < 0.5 else f"{year}-{month:02d}"


def main():
    program, seed = sys.argv[1], int(sys.argv[2])
    rng = random.Random(seed)
    parts, marks = [], {}
    for number in range(PARTS):
        kind = rng.choice(["cylinder"] * 5 + list(AGE))
        made = random_date(rng, 1998, 31) if rng.random() < 0.9 else ""
        label = ""
        if rng.random() < 0.2:
            label = f"{rng.randrange(2024, 2036)}-{rng.randrange(1, 13):02d}"
            if rng.random() < 0.5:
                label += f"-{rng.randrange(1, 29):02d}"
        part = dict(part=f"P{number:05d}", unit="U1", kind=kind, made=made, replace_by=label,
                    spec=rng.choice(FOUR_SERIES) if kind == "cylinder" else "")
        parts.append(part)
        if kind == "cylinder" and rng.random() < 0.6:
            oldest = made[:7] if made else "1998-01"
            found = {}
            for _ in range(rng.randrange(1, 4)):
                month = random_date(rng, int(oldest[:4]), max(1, 2029 - int(oldest[:4])))[:7]
                if month >= oldest:
                    found[month] = rng.choice(list(AFTER))
            marks[part["part"]] = sorted(found.items())
    with tempfile.TemporaryDirectory() as work:
        folder = pathlib.Path(work, "folder")
        folder.mkdir()
        write(folder / "units.csv", ["unit", "depot"], [dict(unit="U1", depot="YARD")])
        write(folder / "parts.csv", ["part", "unit", "kind", "spec", "made", "replace_by"], parts)
        rows = [dict(part=code, month=month, method=method) for code, some in marks.items() for month, method in some]
        write(folder / "marks.csv", ["part", "month", "method"], rows)
        common = [program, "--db", str(pathlib.Path(work, "fleet.db")), "--today", TODAY.isoformat()]
        subprocess.run([*common, "import", str(folder)], check=True, stdout=subprocess.DEVNULL)
        answer = subprocess.run([*common, "due", "--all", "--format", "json"], check=True, capture_output=True)
    items = {item["part"]: item for item in json.loads(answer.stdout)["items"] if item["part"]}
    wrong = 0
    for part in parts:
        item = items[part["part"]]
        want = expected(part, marks.get(part["part"], []))
        if (item["due_on"], item["state"]) != want:
            wrong += 1
            if wrong <= 10:
                print(part, marks.get(part["part"]), "program:", item["due_on"], item["state"], "dateutil:", *want)
    print(f"{len(parts)} parts, seed {seed}: {wrong} differences from dateutil")
    sys.exit(1 if wrong else 0)


def write(path, header, rows):
    with open(path, "w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, header, extrasaction="ignore")
        writer.writeheader()
        writer.writerows(rows)


main()
