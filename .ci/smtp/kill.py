"""Kills the sender again and again, and sees that everybody has the digest once.

    kill.py PIGTAIL PYTHON [--kills 50] [--depots 20] [--each 10] [--seed N]

PYTHON is the interpreter of the virtual environment that .ci/smtp/run makes. A fleet of DEPOTS with EACH recipients is
imported, and the digest is sent through .ci/smtp/server.py, which is slow, greylists, refuses some and hangs up. The
sender is killed (SIGKILL) at random points and started again. In the end every recipient who is not refused has the
digest, under one Message-ID, and there are no more duplicates than kills and hang-ups that fell after acceptance.
"""

import argparse
import collections
import json
import os
import pathlib
import random
import subprocess
import tempfile
import time

HERE = pathlib.Path(__file__).parent
PASSWORD = "a right password"


def certificate(work):
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost", "-addext",
         "subjectAltName=DNS:localhost", "-addext", "basicConstraints=critical,CA:FALSE", "-keyout", work / "key.pem", "-out", work / "crt.pem"],
        check=True, capture_output=True)


def fleet(work, depots, each):
    folder = work / "fleet"
    folder.mkdir()
    with open(folder / "depots.csv", "w", encoding="utf-8") as out:
        out.write("depot,name,timezone,digest_to\n")
        for n in range(depots):
            to = ";".join(f"p{n * each + k}@fleet.example" for k in range(each))
            out.write(f"D-{n:02},Depot {n},America/Denver,{to}\n")
    with open(folder / "units.csv", "w", encoding="utf-8") as out:
        out.write("unit,depot,in_service_on\n")
        out.writelines(f"U-{n:02},D-{n:02},2025-01-15\n" for n in range(depots))
    with open(folder / "parts.csv", "w", encoding="utf-8") as out:
        out.write("part,unit,kind,spec,made\n")
        out.writelines(f"CY-{n:02},U-{n:02},cylinder,DOT-4BA240,2014-0{1 + n % 9}\n" for n in range(depots))
    return folder


class Server:
    def __init__(self, python, work, options):
        self.process = subprocess.Popen(
            [python, HERE / "server.py", work / "mail", "--certificate", work / "crt.pem", "--key", work / "key.pem",
             "--user", "desk", *options],
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env={**os.environ, "SINK_PASSWORD": PASSWORD})
        self.port = int(self.process.stdout.readline().split()[1])

    def stop(self):
        self.process.terminate()
        self.process.wait()


def settings(work, port):
    (work / "config.toml").write_text(
        f'[mail]\nserver = "localhost"\nport = {port}\nsecurity = "starttls"\nuser = "desk"\n'
        'password = { env = "PIGTAIL_TEST_PASSWORD" }\nca_file = "crt.pem"\nsender = "digest@fleet.example"\n'
        'timeout_seconds = 5\n', encoding="utf-8")


def main(options):
    rng = random.Random(options.seed)
    with tempfile.TemporaryDirectory() as place:
        work = pathlib.Path(place)
        certificate(work)
        everybody = {f"p{n}@fleet.example" for n in range(options.depots * options.each)}
        refused = set(sorted(everybody)[::37])
        pigtail = [options.pigtail, "--db", work / "fleet.db", "--today", "2026-03-02"]
        env = {**os.environ, "PIGTAIL_TEST_PASSWORD": PASSWORD}
        subprocess.run([*pigtail, "init"], check=True, capture_output=True)
        subprocess.run([*pigtail, "import", fleet(work, options.depots, options.each)], check=True, capture_output=True)
        rude = ["--drop-after", "23", "--drop-before", "17", "--slow", "0.01"]
        rude += [word for to in refused for word in ("--refuse", to)]
        server = Server(options.python, work, [*rude, "--greylist", "0.5"])
        settings(work, server.port)
        send = [*pigtail, "digest", "send", "--config", work / "config.toml"]
        kills = 0
        while kills < options.kills:
            sender = subprocess.Popen(send, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            try:
                sender.wait(timeout=rng.uniform(0.05, options.longest))
            except subprocess.TimeoutExpired:
                sender.kill()
                sender.wait()
                kills += 1
            if kills == options.kills // 2:
                # The server is dropped in mid-run too, and comes back elsewhere.
                server.stop()
                server = Server(options.python, work, rude)
                settings(work, server.port)
                kills += 1
        for _ in range(40):
            if subprocess.run(send, env=env, capture_output=True).returncode == 0 or not waiting(pigtail, refused):
                break
            time.sleep(0.3)
        server.stop()
        judge(work, everybody - refused, refused, kills)


def waiting(pigtail, refused):
    told = subprocess.run([*pigtail, "digest", "log", "--format", "json"], check=True, capture_output=True).stdout
    document = json.loads(told)
    return [line for line in document["digests"] if line["progress"] != "sent" and line["to"] not in refused]


def judge(work, wanted, refused, kills):
    ids = collections.defaultdict(list)
    for line in (work / "mail" / "envelopes.jsonl").read_text(encoding="utf-8").splitlines():
        envelope = json.loads(line)
        ids[envelope["to"][0]].append(envelope["message_id"])
    missed = wanted - set(ids)
    if missed:
        raise SystemExit(f"{len(missed)} have no digest: {sorted(missed)[:5]}")
    if set(ids) & refused:
        raise SystemExit("a refused recipient has a digest")
    renamed = [to for to, names in ids.items() if len(set(names)) > 1]
    if renamed:
        raise SystemExit(f"{renamed[:5]} have messages of different names")
    messages = sum(map(len, ids.values()))
    doubles = messages - len(ids)
    hang_ups = messages // 23 + 1
    if doubles > kills + hang_ups:
        raise SystemExit(f"{doubles} duplicates from {kills} kills and {hang_ups} hang-ups")
    print(f"{len(ids)} recipients, {kills} kills, {doubles} duplicates, each under one name; nobody missed")


parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
parser.add_argument("pigtail")
parser.add_argument("python")
parser.add_argument("--kills", type=int, default=50)
parser.add_argument("--depots", type=int, default=20)
parser.add_argument("--each", type=int, default=10)
parser.add_argument("--longest", type=float, default=1.2, metavar="SECONDS", help="latest moment of a kill")
parser.add_argument("--seed", type=int, default=1)
main(parser.parse_args())
