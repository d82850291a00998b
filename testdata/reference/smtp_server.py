"""A real SMTP server on the loopback address, for the tests that send mail.

usage: smtp_server.py FOLDER CERTIFICATE KEY, with LOGIN_USER and LOGIN_PASSWORD in
the environment

Opens three doors on free ports, prints {"starttls": port, "tls": port, "none": port}
as one line, and serves until its standard input ends.

starttls: TLS and then a login (PLAIN, LOGIN) are demanded
tls:      TLS from the first byte, a login (LOGIN alone) is demanded
none:     neither TLS nor STARTTLS; a login is taken, not demanded

Every mail taken lies in FOLDER as N.eml, with its envelope as N.json. Every
recipient named by anybody is one line of FOLDER/recipients. A recipient whose
address begins with "refused" gets 550, "later" 451; for "full" the whole mail is
refused with 552, for "broken" with 451, after the final dot.
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


class Desk:
    def __init__(self, door):
        self.door = door

    async def handle_RCPT(self, server, session, envelope, address, options):
        with open(FOLDER / "recipients", "a") as f:
            f.write(address + "\n")
        if address.startswith("refused"):
            return f"550 5.1.1 <{address}>: recipient address rejected: {address.split('@')[0]} is unknown"
        if address.startswith("later"):
            return f"451 4.7.1 <{address}>: greylisted, try again later"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        if envelope.rcpt_tos[0].startswith("full"):
            return "552 5.2.2 mailbox full"
        if envelope.rcpt_tos[0].startswith("broken"):
            return "451 4.3.0 disk trouble"
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
        return "250 taken"


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
            return SMTP(Desk(door), hostname="mail.invalid", enable_SMTPUTF8=True, authenticator=login, loop=loop, **settings)

        servers.append(await loop.create_server(protocol, HOST, 0, ssl=first))
        ports[door] = servers[-1].sockets[0].getsockname()[1]
    print(json.dumps(ports), flush=True)
    await loop.run_in_executor(None, sys.stdin.read)
    os._exit(0)  # connections still open are of no concern


warnings.simplefilter("ignore")
asyncio.run(main())
