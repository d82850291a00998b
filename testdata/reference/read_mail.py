"""Reads mails with Python's email package; prints one JSON object for each.

usage: read_mail.py FILE.eml...
"""

import base64
import json
import sys
from email import message_from_bytes
from email.header import decode_header, make_header
from email.policy import SMTP
from email.utils import parseaddr


def party(header, raw):
    """Address as the package reads it today, name as its older half does: the newer
    one keeps the blank between two encoded words of a name, against RFC 2047 6.2."""
    [one] = header.addresses
    name, address = parseaddr(raw)
    assert address == one.addr_spec, (address, one.addr_spec)
    return {"Name": str(make_header(decode_header(name))), "Address": address}


def defects(message, fields):
    found = [repr(d) for part in message.walk() for d in part.defects]
    return found + [f"{name}: {d!r}" for name, value in fields for d in value.defects]


for path in sys.argv[1:]:
    with open(path, "rb") as f:
        data = f.read()
    m, raw = message_from_bytes(data, policy=SMTP), message_from_bytes(data)
    fields = m.items()  # parsed anew at every look
    first = dict(fields)
    inside = [field for part in m.walk() if part is not m for field in part.items()]
    print(json.dumps({
        "ID": first["Message-ID"],
        "Date": first["Date"].datetime.isoformat(),
        "From": party(first["From"], raw["From"]),
        "To": party(first["To"], raw["To"]),
        "Subject": first["Subject"],
        "Names": [name for name, _ in fields],
        "Auto": first["Auto-Submitted"],
        "Parts": [{
            "Type": p.get_content_type(),
            "Charset": p.get_content_charset(),
            "Method": p.get_param("method"),
            "Component": p.get_param("component"),
            "File": p.get_filename(),
            "Body": "" if p.is_multipart() else base64.b64encode(p.get_payload(decode=True)).decode(),
        } for p in raw.walk()],
        "Defects": defects(m, fields + inside),
    }))
