"""Reads iCalendar files with python-icalendar and prints one line of JSON per
file: the events in a common form, and every error, missing property and second
property of a kind that may stand once.

usage: ical_python.py FILE...
"""
import datetime
import json
import sys

import icalendar


def moment(prop):
    if prop is None:
        return ""
    value = prop.dt
    if not isinstance(value, datetime.datetime):
        return value.isoformat()
    if value.tzinfo is None:
        return "floating " + value.isoformat()
    return value.astimezone(datetime.timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")


def party(prop):
    if prop is None:
        return {"name": "", "address": ""}
    return {"name": str(prop.params.get("CN", "")), "address": str(prop)}


def listed(prop):
    if prop is None:
        return []
    return prop if isinstance(prop, list) else [prop]


def event(e, method):
    return {
        "uid": str(e.get("UID", "")),
        "start": moment(e.get("DTSTART")),
        "end": moment(e.get("DTEND")),
        "summary": str(e.get("SUMMARY", "")),
        "description": str(e.get("DESCRIPTION", "")),
        "location": str(e.get("LOCATION", "")),
        "status": str(e.get("STATUS", "")),
        "sequence": int(e.get("SEQUENCE", 0)),
        "transparent": str(e.get("TRANSP", "")) == "TRANSPARENT",
        "alarms": [int(a["TRIGGER"].dt.total_seconds()) for a in e.walk("VALARM")],
        "method": method,
        "organizer": party(e.get("ORGANIZER")),
        "attendees": [party(a) for a in listed(e.get("ATTENDEE"))],
    }


def component_errors(c):
    found = ["%s.%s: %s" % (c.name, name, why) for name, why in getattr(c, "errors", [])]
    found += ["%s: no %s" % (c.name, name) for name in getattr(c, "required", ()) if name not in c]
    found += ["%s: second %s" % (c.name, name) for name in getattr(c, "singletons", ()) if isinstance(c.get(name), list)]
    return found


def read(path):
    result = {"file": path, "errors": [], "events": []}
    try:
        with open(path, "rb") as f:
            cal = icalendar.Calendar.from_ical(f.read())
        for c in cal.walk():
            result["errors"] += component_errors(c)
        result["events"] = [event(e, str(cal.get("METHOD", ""))) for e in cal.walk("VEVENT")]
    except Exception as why:
        result["errors"].append("%s: %s" % (type(why).__name__, why))
    return result


for path in sys.argv[1:]:
    print(json.dumps(read(path)))
