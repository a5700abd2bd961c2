"""Checks a folder written by `pigtail binder`: python3 verify_binder.py FOLDER

The form is described in docs/journal-format.md. Needs nothing but Python 3.
"""
import json, os, sys
from hashlib import sha256


def sha(*lines):
    return sha256("".join(line + "\n" for line in lines).encode()).hexdigest()


def read(name):
    with open(os.path.join(sys.argv[1], name), "rb") as file:
        return file.read()


def check():
    cover = json.loads(read("binder.json"))
    for name in set(os.listdir(sys.argv[1])) - {"binder.json"} | set(cover["files"]):
        if sha256(read(name)).hexdigest() != cover["files"].get(name):
            return name + " is not the file that was written"
    content, chain = [""], ["0" * 64]
    for line in read("chain.txt").decode().splitlines():
        content.append(line)
        chain.append(sha(chain[-1], line))
    if (len(chain) - 1, chain[-1]) != (cover["entries"], cover["head"]):
        return "the chain does not end in the head on the cover"
    for line in read("journal.jsonl").decode().splitlines():
        e = json.loads(line)
        n = e["seq"]
        sealed = (content[n], chain[n - 1], chain[n])
        if sealed != (sha(str(n), e["recorded_at"], e["author"], e["body"]), e["prev_hash"], e["hash"]):
            return f"entry {n} is not the one sealed in the chain"
    print(f"sound: {chain[-1]}@{len(chain) - 1}")


sys.exit(check())
