"""Reads iCalendar files with vobject and prints one line of JSON per file: the
events in a common form, and every error of the parser and of its own check. Times
are read by the VTIMEZONE of the file; one that is the same to the letter as that of
a file before is not worked out again.

usage: ical_vobject.py FILE...
"""
import datetime
import json
import re
import sys

import vobject


def moment(value):
    if value is None:
        return ""
    if not isinstance(value, datetime.datetime):
        return value.isoformat()
    if value.tzinfo is None:
        return "floating " + value.isoformat()
    return value.astimezone(datetime.timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")


def party(prop):
    if prop is None:
        return {"name": "", "address": ""}
    # A name comes as a list: it is cut at commas that are not quoted.
    return {"name": ",".join(prop.params.get("CN", [])), "address": prop.value}


def event(e, method):
    def first(name):
        return e.contents.get(name, [None])[0]

    def value(name, default=None):
        return first(name).value if first(name) is not None else default

    return {
        "uid": value("uid", ""),
        "start": moment(value("dtstart")),
        "end": moment(value("dtend")),
        "summary": value("summary", ""),
        "description": value("description", ""),
        "location": value("location", ""),
        "status": value("status", ""),
        "sequence": int(value("sequence", 0)),
        "transparent": value("transp", "") == "TRANSPARENT",
        "alarms": [int(a.trigger.value.total_seconds()) for a in e.contents.get("valarm", [])],
        "method": method,
        "organizer": party(first("organizer")),
        "attendees": [party(a) for a in e.contents.get("attendee", [])],
    }


KNOWN = getattr(vobject.icalendar, "__tzidMap")  # zones by TZID, of the file at hand
ZONE = re.compile(r"BEGIN:VTIMEZONE\r\n.*?END:VTIMEZONE\r\n", re.DOTALL)
TZID = re.compile(r"\r\nTZID:(.*)\r\n")
worked_out = {}  # zones by the text of their VTIMEZONE


def forget_zones():
    """A TZID means the zone of the first file that had it, else."""
    KNOWN.clear()
    vobject.icalendar.registerTzid("UTC", datetime.timezone.utc)


def without_known_zones(text):
    """Registers each VTIMEZONE that is known, and leaves it out of the text."""
    for zone in ZONE.findall(text):
        if zone in worked_out:
            vobject.icalendar.registerTzid(TZID.search(zone)[1], worked_out[zone])
            text = text.replace(zone, "", 1)
    return text


def keep_zones(text):
    for zone in ZONE.findall(text):
        name = TZID.search(zone)
        if name and name[1] in KNOWN:
            worked_out[zone] = KNOWN[name[1]]


def read(path):
    result = {"file": path, "errors": [], "events": []}
    try:
        forget_zones()
        with open(path, "rb") as f:
            text = without_known_zones(f.read().decode("utf-8"))
        calendars = list(vobject.readComponents(text))
        keep_zones(text)
        if len(calendars) != 1 or calendars[0].name != "VCALENDAR":
            raise ValueError("not one VCALENDAR")
        calendar = calendars[0]
        calendar.validate(raiseException=True)
        methods = calendar.contents.get("method", [])
        method = methods[0].value if methods else ""
        result["events"] = [event(e, method) for e in calendar.contents.get("vevent", [])]
    except Exception as why:
        result["errors"].append("%s: %s" % (type(why).__name__, why))
    return result


for path in sys.argv[1:]:
    print(json.dumps(read(path)))
