"""Checks what .ci/smtp/server.py kept: every message parsed by Python's email without a defect, every calendar by the
icalendar package, every CSV by csv; text and HTML bear the same journal head; one address an envelope.

    check_mail.py FOLDER [--least N] [--once]

--least fails with fewer messages; --once fails where one recipient has two messages of different Message-ID, or two of
the same (at most --duplicates N of these are let pass: one for each time the sender was killed).
"""

import argparse
import collections
import csv
import datetime
import email
import email.policy
import email.utils
import io
import json
import pathlib
import re
import sys

import icalendar

ONCE = ["Date", "From", "To", "Subject", "Message-ID", "List-Id", "Auto-Submitted", "MIME-Version", "Content-Type"]
HASH = re.compile(r"\b[0-9a-f]{64}\b")


def expect(right, *said):
    if not right:
        raise AssertionError(" ".join(str(word) for word in said))


def check_message(raw, envelope):
    expect(b"\n" not in raw.replace(b"\r\n", b""), "a bare line feed")
    expect(b"\r" not in raw.replace(b"\r\n", b""), "a bare carriage return")
    expect(max(len(line) for line in raw.split(b"\r\n")) <= 998, "a line over 998 octets")
    message = email.message_from_bytes(raw, policy=email.policy.default)
    for part in message.walk():
        expect(not part.defects, part.get_content_type(), part.defects)
        for name, value in part.items():
            expect(not value.defects, name, value.defects)
    for name in ONCE:
        expect(len(message.get_all(name, [])) == 1, name, "stands", len(message.get_all(name, [])), "times")
    expect(message["Auto-Submitted"] == "auto-generated", "Auto-Submitted")
    expect(re.fullmatch(r"<[^<>@\s]+\.[^<>@\s]+>", message["List-Id"]), message["List-Id"])
    expect(email.utils.parsedate_to_datetime(str(message["Date"])).tzinfo is not None, "Date")
    expect([address.addr_spec for address in message["To"].addresses] == envelope["to"], "To and envelope differ")
    expect(len(envelope["to"]) == 1, "more than one address in an envelope")
    kinds = [part.get_content_type() for part in message.walk() if not part.is_multipart()]
    expect(kinds == ["text/plain", "text/html", "text/csv", "text/calendar"], kinds)
    plain, html, table, calendar = [part for part in message.walk() if not part.is_multipart()]
    for part in (plain, html, table, calendar):
        expect(part.get_content_charset() == "utf-8", part.get_content_type(), part.get_content_charset())
    text = plain.get_content()
    expect(max(map(len, text.splitlines())) < 78, "a line of text of 78 characters or more")
    heads = set(HASH.findall(text)), set(HASH.findall(html.get_content()))
    expect(len(heads[0]) == 1 and heads[0] == heads[1], "journal heads", heads)
    expect("<script" not in html.get_content().lower(), "a script")
    check_table(table.get_content())
    check_calendar(calendar.get_payload(decode=True))


def check_table(text):
    expect(table_rows := list(csv.reader(io.StringIO(text.removeprefix("\ufeff")), strict=True)), "an empty table")
    for row in table_rows:
        expect(len(row) == len(table_rows[0]), row)
        for cell in row:
            expect(re.fullmatch(r"-?\d+", cell) or not cell.startswith(("=", "+", "-", "@", "\t", "\r")), cell)


def check_calendar(raw):
    expect(all(len(line) <= 75 for line in raw.split(b"\r\n")), "a calendar line over 75 octets")
    calendar = icalendar.Calendar.from_ical(raw)
    expect(not calendar.errors, calendar.errors)
    expect({"VERSION", "PRODID"} <= set(calendar), "VERSION, PRODID")
    names = set()
    for event in calendar.walk("VEVENT"):
        expect(not event.errors, event.errors)
        expect(type(event.decoded("DTSTART")) is datetime.date, "a due date with a time of day")
        expect("DTEND" not in event and "DTSTAMP" in event and event["SUMMARY"], event.to_ical())
        expect(event["UID"] not in names, "UID twice", event["UID"])
        names.add(event["UID"])


def main(options):
    folder = pathlib.Path(options.folder)
    listing = folder / "envelopes.jsonl"
    lines = listing.read_text(encoding="utf-8").splitlines() if listing.exists() else []
    envelopes = [json.loads(line) for line in lines]
    for envelope in envelopes:
        try:
            check_message((folder / envelope["file"]).read_bytes(), envelope)
        except AssertionError as wrong:
            sys.exit(f"{envelope['file']} to {envelope['to']}: {wrong}")
    expect(len(envelopes) >= options.least, len(envelopes), "messages, wanted", options.least)
    if options.once:
        names = collections.defaultdict(list)
        for envelope in envelopes:
            names[envelope["to"][0]].append(envelope["message_id"])
        for to, ids in names.items():
            expect(len(set(ids)) == 1, to, "has messages of different names", ids)
        doubles = sum(len(ids) - 1 for ids in names.values())
        expect(doubles <= options.duplicates, doubles, "duplicates")
    recipients = len({envelope["to"][0] for envelope in envelopes})
    print(f"{len(envelopes)} messages to {recipients} recipients without a defect")


parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
parser.add_argument("folder")
parser.add_argument("--least", type=int, default=1)
parser.add_argument("--once", action="store_true")
parser.add_argument("--duplicates", type=int, default=0)
main(parser.parse_args())
