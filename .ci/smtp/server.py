"""A real SMTP server for trying the digest: STARTTLS or implicit TLS, AUTH, and every discourtesy a real one shows.

Prints `READY port` once it listens, and ends on SIGTERM. Every message it takes is written to FOLDER as NNNN.eml, with
one line of JSON in FOLDER/envelopes.jsonl: file, from, to, message_id, tls, user.

    server.py FOLDER --certificate CRT --key KEY [--port N] [--security starttls|implicit|plain] [--user U]
              [--refuse ADDRESS|*]… [--greylist SECONDS] [--slow SECONDS] [--drop-before N] [--drop-after N]

The password of --user is read from the environment variable SINK_PASSWORD.
"""

import argparse
import asyncio
import email
import email.policy
import json
import os
import pathlib
import signal
import ssl
import time

from aiosmtpd.smtp import SMTP, AuthResult, LoginPassword


class Handler:
    def __init__(self, options):
        self.options = options
        self.folder = pathlib.Path(options.folder)
        self.folder.mkdir(parents=True, exist_ok=True)
        self.first_seen = {}
        # Counting goes on where an earlier run of the server stopped.
        self.kept = len(list(self.folder.glob("*.eml")))
        self.seen = 0

    async def handle_RCPT(self, server, session, envelope, address, rcpt_options):
        if self.options.slow:
            await asyncio.sleep(self.options.slow)
        if "*" in self.options.refuse or address in self.options.refuse:
            return "550 5.1.1 no such mailbox here"
        if self.options.greylist:
            first = self.first_seen.setdefault(address, time.monotonic())
            if time.monotonic() - first < self.options.greylist:
                return "451 4.7.1 greylisted, come back later"
        envelope.rcpt_tos.append(address)
        return "250 2.1.5 ok"

    async def handle_DATA(self, server, session, envelope):
        self.seen += 1
        if self.options.drop_before and self.seen % self.options.drop_before == 0:
            server.transport.abort()
            return "451 4.3.0 dropped"
        self.keep(session, envelope)
        if self.options.drop_after and self.seen % self.options.drop_after == 0:
            # Taken, but the sender never learns of it.
            server.transport.abort()
        return f"250 2.0.0 queued as {self.kept:04}"

    def keep(self, session, envelope):
        self.kept += 1
        name = f"{self.kept:04}.eml"
        (self.folder / name).write_bytes(envelope.content)
        message = email.message_from_bytes(envelope.content, policy=email.policy.default)
        line = {
            "file": name,
            "from": envelope.mail_from,
            "to": envelope.rcpt_tos,
            "message_id": message["Message-ID"],
            "tls": session.ssl is not None or self.options.security == "implicit",
            "user": session.auth_data,
        }
        with open(self.folder / "envelopes.jsonl", "a", encoding="utf-8") as out:
            out.write(json.dumps(line) + "\n")


def authenticator(user, password):
    def check(server, session, envelope, mechanism, data):
        right = isinstance(data, LoginPassword) and data.login == user.encode() and data.password == password.encode()
        return AuthResult(success=right, auth_data=user if right else None, handled=False)

    return check


async def main(options):
    handler = Handler(options)
    context = None
    if options.security != "plain":
        context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        context.load_cert_chain(options.certificate, options.key)
    settings = {"enable_SMTPUTF8": True, "hostname": "localhost", "timeout": 60}
    if options.security == "starttls":
        settings |= {"tls_context": context, "require_starttls": True}
    if options.user:
        settings |= {
            "auth_required": True,
            "auth_require_tls": options.security == "starttls",
            "authenticator": authenticator(options.user, os.environ["SINK_PASSWORD"]),
        }
    loop = asyncio.get_running_loop()
    server = await loop.create_server(
        lambda: SMTP(handler, loop=loop, **settings),
        host="localhost",
        port=options.port,
        family=2,  # IPv4, so that one free port serves the one name
        ssl=context if options.security == "implicit" else None,
    )
    print("READY", server.sockets[0].getsockname()[1], flush=True)
    stopped = asyncio.Event()
    loop.add_signal_handler(signal.SIGTERM, stopped.set)
    loop.add_signal_handler(signal.SIGINT, stopped.set)
    await stopped.wait()
    server.close()


parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
parser.add_argument("folder")
parser.add_argument("--certificate")
parser.add_argument("--key")
parser.add_argument("--port", type=int, default=0)
parser.add_argument("--security", choices=["starttls", "implicit", "plain"], default="starttls")
parser.add_argument("--user")
parser.add_argument("--refuse", action="append", default=[], metavar="ADDRESS", help="answer 550; * is everybody")
parser.add_argument("--greylist", type=float, default=0, metavar="SECONDS", help="answer 451 so long after first sight")
parser.add_argument("--slow", type=float, default=0, metavar="SECONDS", help="wait before each answer to RCPT")
parser.add_argument("--drop-before", type=int, default=0, metavar="N", help="hang up on each Nth message, not kept")
parser.add_argument("--drop-after", type=int, default=0, metavar="N", help="keep each Nth message, then hang up")
asyncio.run(main(parser.parse_args()))
