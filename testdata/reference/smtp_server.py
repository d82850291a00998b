"""A real SMTP server on the loopback address, for the tests that send mail.

usage: smtp_server.py FOLDER CERTIFICATE KEY, with LOGIN_USER and LOGIN_PASSWORD in
the environment

Opens three doors on free ports, prints {"starttls": port, "tls": port, "none": port}
as one line, and serves until its standard input ends. A line that comes in there is
printed again once nobody is connected.

starttls: TLS and then a login (PLAIN, LOGIN) are demanded
tls:      TLS from the first byte, a login (LOGIN alone) is demanded
none:     neither TLS nor STARTTLS; a login is taken, not demanded

Every mail taken lies in FOLDER as N.eml, with its envelope as N.json. Every
recipient named by anybody is one line of FOLDER/recipients. What becomes of a mail is
said by FOLDER/fate or, without that file, by the beginning of the recipient's address:

refused: 550 for the recipient
later:   451 for the recipient
full:    552 for the whole mail, after the final dot
broken:  451 for the whole mail
cut:     taken, and the connection torn down instead of an answer
lost:    the same, and not taken
silent:  taken, and never answered
slow:    recipient and mail are answered late, and the mail is taken in between
"""

import asyncio
import json
import os
import ssl
import sys
import warnings
from pathlib import Path

from aiosmtpd.smtp import SMTP, AuthResult

HOST = "127.0.0.1"
FOLDER, CERTIFICATE, KEY = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
LOGIN = (os.environ["LOGIN_USER"].encode(), os.environ["LOGIN_PASSWORD"].encode())
LATE = 0.02  # seconds
FOREVER = 3600.0
connected = set()


def fate(address):
    try:
        return (FOLDER / "fate").read_text()
    except FileNotFoundError:
        return address


class Desk:
    def __init__(self, door):
        self.door = door

    async def handle_RCPT(self, server, session, envelope, address, options):
        with open(FOLDER / "recipients", "a") as f:
            f.write(address + "\n")
        if fate(address).startswith("slow"):
            await asyncio.sleep(LATE)
        if fate(address).startswith("refused"):
            return f"550 5.1.1 <{address}>: recipient address rejected: {address.split('@')[0]} is unknown"
        if fate(address).startswith("later"):
            return f"451 4.7.1 <{address}>: greylisted, try again later"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        told = fate(envelope.rcpt_tos[0])
        if told.startswith("full"):
            return "552 5.2.2 mailbox full"
        if told.startswith("broken"):
            return "451 4.3.0 disk trouble"
        if told.startswith("slow"):
            await asyncio.sleep(LATE)
        if not told.startswith("lost"):
            self.take(session, envelope)
        if told.startswith("slow"):
            await asyncio.sleep(LATE)
        if told.startswith(("cut", "lost")):
            server.transport.abort()
        if told.startswith(("cut", "lost", "silent")):
            await asyncio.sleep(FOREVER)  # the end of the connection ends it
        return "250 taken"

    def take(self, session, envelope):
        name = str(1 + len(list(FOLDER.glob("*.eml"))))
        (FOLDER / f"{name}.json").write_text(json.dumps({
            "Door": self.door,
            "Hello": session.host_name,
            "From": envelope.mail_from,
            "Options": envelope.mail_options,
            "To": envelope.rcpt_tos,
            "LoggedIn": bool(session.authenticated),
            "Encrypted": session.ssl is not None or self.door == "tls",
        }))
        (FOLDER / f"{name}.eml").write_bytes(envelope.original_content)


class Counted(SMTP):
    """It is connected to anew when STARTTLS begins, and is still one."""

    def connection_made(self, transport):
        connected.add(self)
        super().connection_made(transport)

    def connection_lost(self, error):
        connected.discard(self)
        super().connection_lost(error)


def login(server, session, envelope, mechanism, data):
    return AuthResult(success=(data.login, data.password) == LOGIN, handled=False)


async def main():
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(CERTIFICATE, KEY)
    doors = {
        "starttls": ({"tls_context": context, "require_starttls": True, "auth_required": True}, None),
        # aiosmtpd knows only TLS that it began itself as secure
        "tls": ({"auth_required": True, "auth_require_tls": False, "auth_exclude_mechanism": ["PLAIN"]}, context),
        "none": ({"auth_require_tls": False}, None),
    }
    loop, ports, servers = asyncio.get_running_loop(), {}, []
    for door, (settings, first) in doors.items():
        def protocol(door=door, settings=settings):
            return Counted(Desk(door), hostname="mail.invalid", enable_SMTPUTF8=True, authenticator=login, loop=loop, **settings)

        servers.append(await loop.create_server(protocol, HOST, 0, ssl=first))
        ports[door] = servers[-1].sockets[0].getsockname()[1]
    print(json.dumps(ports), flush=True)
    while line := await loop.run_in_executor(None, sys.stdin.readline):
        while connected:
            await asyncio.sleep(LATE)
        print(line, end="", flush=True)
    os._exit(0)  # connections still open are of no concern


warnings.simplefilter("ignore")
asyncio.run(main())
