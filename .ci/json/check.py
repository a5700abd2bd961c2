"""Every command that answers as JSON, run on the demo fleet, its answer held against schema/json.

Which commands there are is read from the program's own help, so that a new one fails here until it has a schema or
stands among those that answer otherwise. Each answer is then spoiled in every place, and the schema must notice.
"""

import copy, json, os, pathlib, re, sqlite3, subprocess, sys

import jsonschema
from referencing import Registry, Resource

PIGTAIL, WORK = sys.argv[1], pathlib.Path(sys.argv[2])
ROOT = pathlib.Path(__file__).parents[2]
FLEET = WORK / "demo" / "fleet.db"
ENV = {**{k: v for k, v in os.environ.items() if not k.startswith("PIGTAIL_")}, "PIGTAIL_TODAY": "2026-03-02"}

# Commands that give no JSON: they record, write files, send, or lay out mail, pages and calendars.
OTHERWISE = """
init, demo, import, export, backup, restore, binder, event, sheet, calendar, watch, digest show, digest send,
digest check, journal void, plan keep, plan drop, depot add, depot amend, unit add, unit amend, unit move, unit retire,
unit appliance, part add, part amend, part fit, part pull, part scrap, part mark, gauge add, gauge check, person add,
person amend, booking add, booking amend, booking cancel, hold add, hold lift
"""

# Schemas that are not named as their command is.
FURTHER = {
    "journal-verify-binder": "journal verify", "rules-show-limits": "rules show", "plan-solve": "plan",
    "plan-what-if": "plan",
}

# A server that nobody listens at, so that a digest fails.
SETTINGS = '[mail]\nserver = "127.0.0.1"\nport = 9\nsecurity = "plain"\nsender = "desk@fleet.example"\n'

HOUSE = """pack = "us"

[[change]]
rule = "gas-test"
reason = "twice a year is our habit"
after = { pass = "6 months" }
"""

faults = []
seen = set()


def run(*words, db=FLEET):
    words = [str(word) for word in words]
    done = subprocess.run([PIGTAIL, "--db", str(db), *words], capture_output=True, text=True, cwd=ROOT, env=ENV)
    return done.returncode, done.stdout, done.stderr


def does(*words, status=0):
    code, _, talk = run(*words)
    if code != status:
        sys.exit(f"FAILED: {' '.join(map(str, words))}: status {code}: {talk}")


def schemas():
    found = {path.stem: json.loads(path.read_text()) for path in sorted((ROOT / "schema" / "json").glob("*.json"))}
    for name, schema in found.items():
        jsonschema.Draft202012Validator.check_schema(schema)
        if schema["$id"] != f"{name}.json":
            faults.append(f"{name}.json calls itself {schema['$id']}")
    registry = Registry().with_resources((f"{name}.json", Resource.from_contents(it)) for name, it in found.items())
    judges = {
        name: jsonschema.Draft202012Validator(
            schema, registry=registry, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
        )
        for name, schema in found.items()
    }
    judges.pop("nouns")
    return judges


def answers(name, *words, status=0, db=FLEET, has=None):
    """Runs it, judges the answer, and spoils it. `has` is a text that shows that the answer holds what it is run for."""
    code, out, talk = run(*words, "--format", "json", db=db)
    said = f"{name}: {' '.join(map(str, words))}"
    if code != status:
        faults.append(f"{said}: status {code}, wanted {status}: {talk.strip()}")
        return None
    if has and has not in out:
        faults.append(f"{said}: does not hold {has}")
    if name not in JUDGES:
        faults.append(f"{said}: there is no schema/json/{name}.json")
        return None
    answer = json.loads(out)
    for error in JUDGES[name].iter_errors(answer):
        faults.append(f"{said}: {error.json_path}: {error.message[:300]}")
    if name not in seen:
        for path, spoilt in spoils(answer):
            if JUDGES[name].is_valid(spoilt):
                faults.append(f"{said}: {path} passes unnoticed")
    seen.add(name)
    return answer


def spoils(answer):
    """The answer with a field too many, and with each value of another type, at the first two places of each list."""
    for path in places(answer, ()):
        if "body" in path or "after" in path[:-1]:
            continue
        spoilt = copy.deepcopy(answer)
        inner = spoilt
        for step in path[:-1]:
            inner = inner[step]
        if path:
            inner[path[-1]] = {"spoilt": True}
            yield f"another type at {path}", spoilt
        if isinstance(at(answer, path), dict) and path[-1:] != ("after",):
            spoilt = copy.deepcopy(answer)
            at(spoilt, path)["spoilt"] = True
            yield f"a field too many at {path}", spoilt


def at(value, path):
    for step in path:
        value = value[step]
    return value


def places(value, path):
    yield path
    steps = value.items() if isinstance(value, dict) else enumerate(value[:2]) if isinstance(value, list) else ()
    for step, inner in steps:
        yield from places(inner, (*path, step))


def commands(*path):
    """Every command that has none below it, and `plan`, which is one all the same."""
    _, text, _ = run(*path, "--help")
    block = re.search(r"^Commands:\n((?:  .*\n)+)", text, re.M)
    below = re.findall(r"^  ([a-z][a-z-]*) ", block.group(1), re.M) if block else []
    if not below or path == ("plan",):
        yield " ".join(path)
    for word in below:
        if word != "help":
            yield from commands(*path, word)


def every_command_is_known():
    otherwise = {word.strip() for word in OTHERWISE.replace("\n", " ").split(",")}
    known = {command: [command.replace(" ", "-")] for command in commands()}
    for name, command in FURTHER.items():
        known[command].append(name)
    for command in known.keys() & otherwise:
        del known[command]
    wanted = {name for names in known.values() for name in names}
    for name in sorted(wanted - JUDGES.keys()):
        faults.append(f"there is no schema/json/{name}.json, and {name} is not among those that answer otherwise")
    for name in sorted(JUDGES.keys() - wanted):
        faults.append(f"schema/json/{name}.json is of no command")


def tampered():
    """A copy of the fleet file with one entry rewritten behind the program's back."""
    copied = WORK / "tampered.db"
    source, target = sqlite3.connect(FLEET), sqlite3.connect(copied)
    source.backup(target)
    target.isolation_level = None
    for (trigger,) in target.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        target.execute(f'DROP TRIGGER "{trigger}"')
    target.execute("UPDATE journal SET body = replace(body, 'HARBOR', 'HARBUR') WHERE seq = 1")
    target.close()
    return copied


def register():
    for noun, code in [("depot", "LAKE"), ("unit", "R-003"), ("part", "CY-1105"), ("gauge", "DIAL-2"),
                       ("person", "kovac"), ("booking", "B-501"), ("hold", "R-014")]:
        answers(f"{noun}-list", noun, "list")
        answers(f"{noun}-show", noun, "show", code)
    answers("depot-hours", "depot", "hours", "LAKE", has="osei")
    answers("depot-show", "depot", "show", "BARE")
    answers("unit-list", "unit", "list", "--retired", has="retired_on")
    answers("part-list", "part", "list", "--shelf", has="NEW-1")
    answers("hold-list", "hold", "list", "--all", has="a later pass")
    answers("gauge-show", "gauge", "show", "DIAL-2", has="reference")


def work_due():
    answers("due", "due", "--all", has='"undated"')
    answers("due", "due", has="crosses")
    answers("due", "due", "--within", "90d", has="planned_on")
    answers("due", "due", "--all", "--check", status=1)
    answers("why", "why", "LP-5104")
    answers("why", "why", "R-014")
    answers("why", "why", "DIAL-2")
    answers("why", "why", "NEW-1", has="make date missing")
    answers("ready", "ready", "R-001", "R-011", "--out", "2026-03-07", "--back", "2027-03-14", status=1, has="runs-out")
    answers("ready", "ready", "R-021", has='"ready":true')
    answers("ready", "ready", "R-040", status=1, has="retired")
    answers("ready", "ready", "--all", status=1, has='"undated"')
    answers("ready", "ready", "R-008", status=1, has='"hold"')
    answers("report", "report")


def closeouts():
    answers("closeout", "closeout", "R-010", "--by", "brandt", "--gauge", "TUBE-1", "--lockup", "11.4", "--flow",
            "5.5+5.4", "--burning", "range", "--burning", "furnace", "--drop", "9.0:9.0", "--minutes", "4", "--air",
            "58F", "--air-after", "58F", "--check", "extinguisher-look=pass", has='"pass"')
    answers("closeout", "closeout", "R-016", "--by", "brandt", "--gauge", "TUBE-1", "--lockup", "16", "--drop", "9:8",
            "--minutes", "4", status=1, has='"fail"')
    answers("closeout", "closeout", "R-011", "--by", "brandt", "--check", "extinguisher-look=fail:seal broken",
            status=1, has='"verdict":null')
    answers("closeout", "closeout", "R-013", "--by", "brandt", "--gauge", "TUBE-1", "--lockup", "11.4", status=1,
            has="inconclusive")


def plans():
    answers("plan", "plan", status=1, has='"unplanned":[{')
    answers("plan", "plan", "--depot", "LAKE", "--weeks", "3", has='"promised_on":"')
    answers("plan-why", "plan", "why", "R-034", "--depot", "LAKE", has='"later":[{')
    answers("plan-what-if", "plan", "--without", "osei")
    for question in sorted((ROOT / "fixtures" / "plan" / "micro").glob("*.json")):
        answers("plan-solve", "plan", "--solve", question, status=1 if "unplaceable" in question.name else 0)


def proof():
    answers("journal-list", "journal", "list", has=f'"voided_by":{EVENT + 1}')
    answers("journal-list", "journal", "list", "--last", "0")
    answers("journal-show", "journal", "show", EVENT, has="rear corner")
    answers("journal-show", "journal", "show", "1")
    answers("journal-verify", "journal", "verify")
    answers("doctor", "doctor")
    broken = tampered()
    answers("journal-verify", "journal", "verify", db=broken, status=1, has="first_bad")
    answers("doctor", "doctor", db=broken, status=1, has='"fault"')
    binder = WORK / "binder"
    does("binder", "R-003", "--from", "2020-01-01", "--to", "2026-03-02", binder)
    answers("journal-verify-binder", "journal", "verify", "--binder", binder)
    (binder / "README.txt").write_text("another")
    answers("journal-verify-binder", "journal", "verify", "--binder", binder, status=1)
    does("digest", "send", "--config", WORK / "config.toml", status=3)
    answers("digest-log", "digest", "log", has='"failed"')


def rules():
    for pack in ["us", "ca", "de"]:
        answers("rules-list", "rules", "list", "--pack", pack)
        answers("rules-show-limits", "rules", "show", "limits", "--pack", pack)
    answers("rules-show", "rules", "show", "gas-test")
    answers("rules-check", "rules", "check", ROOT / "schema" / "rules" / "us.toml")
    answers("rules-check", "rules", "check", WORK / "house.toml", has='"before"')
    answers("rules-adopt", "rules", "adopt", WORK / "house.toml", has='"before"')
    answers("rules-adopt", "rules", "adopt", WORK / "house.toml")


def calculator():
    calc = lambda name, *words, status=0: answers(f"calc-{name}", "calc", name, *words, status=status)
    calc("stamp", "11", "A123", "21", "E")
    calc("stamp", "11", "21")
    for unit in ["mbar", "kPa", "oz/in2", "inHg"]:
        calc("convert", "11", unit)
    calc("reading", "6.1+6.1")
    calc("judge", "--lockup", "12", "--flow", "11", "--load", "60", "--drop", "8:8", "--minutes", "3")
    calc("judge", "--lockup", "15", "--gauge-kind", "dial", "--vent", "unseen", status=1)
    calc("orifice", "#75")
    calc("orifice", "--connected", "42000")
    calc("orifice", "--diameter", "0.02")
    calc("leak-rate", "--drop", "9:8", "--minutes", "3", "--volume", "50in3")
    calc("leak-rate", "--drop", "9:8", "--minutes", "3", "--volume", "50in3", "--resolution", "0.1")
    calc("temperature", "--start", "8", "--from", "60F", "--to", "59F", "--elevation", "0ft")
    calc("atmosphere", "5000ft")
    calc("piping", "b280-3/8=12ft", "sch40-1/2=3ft", "--add", "5in3")
    calc("piping", "--id", "0.555in", "--length", "1ft")
    calc("derate", "5000ft", "--input", "25000")
    calc("derate", "5000ft", "--convention", "from-2000-ft")
    calc("vapour", "70F")
    calc("utube", "--volume", "50in3", "--bore", "0.25in", "--pressure", "8")


JUDGES = schemas()
every_command_is_known()
does("demo", "--dir", WORK / "demo")
(WORK / "config.toml").write_text(SETTINGS)
(WORK / "house.toml").write_text(HOUSE)
for words in [
    "depot add BARE", "part add NEW-1 --kind hose", "unit retire R-040 --because sold",
    "hold add R-039 --because scratched", "plan keep --depot LAKE",
]:
    does(*words.split())
does("gauge", "check", "DIAL-2", "--reading", "11.0", "--reference", "11.0", "--by", "kovac")
does("event", "R-036", "collision", "--note", "rear corner")
EVENT = json.loads(run("journal", "list", "--last", "1", "--format", "json")[1])["entries"][0]["seq"]
does("journal", "void", EVENT, "--because", "another unit")
for part in [closeouts, register, work_due, plans, proof, rules, calculator]:
    part()
for name in sorted(JUDGES.keys() - seen):
    faults.append(f"{name}: nothing here was held against it")
if faults:
    sys.exit("\n".join(["FAILED:", *faults]))
print(f"{len(seen)} schemas in schema/json are as the program answers")
