"""Expands the events of iCalendar files that repeat, with dateutil's rules and the
clocks of zoneinfo, and prints one line of JSON per file: by event, named by its
summary, the start and end of each instance in seconds since 1970.

What the two say nothing of is done here as RFC 5545 has it: an instance of DTEND
has the same exact length each time, one of DURATION the same on the calendar
(3.8.5.3); a time that clocks leave out or show twice is told by the offset before
the change (3.3.5), which is fold=0; UNTIL is held against instants.

usage: rrule_python.py FIRST LAST FILE...   (first and last start, YYYYMMDD, UTC)
"""
import datetime
import json
import re
import sys
import zoneinfo

import icalendar.parser
from dateutil import rrule

UTC = datetime.timezone.utc
DAY = datetime.timedelta(days=1)


def read(text, zone):
    """A value as (wall clock without zone, zone or None for a day)."""
    if len(text) == 8:
        return datetime.datetime.strptime(text, "%Y%m%d"), None
    if text.endswith("Z"):
        return datetime.datetime.strptime(text, "%Y%m%dT%H%M%SZ"), UTC
    return datetime.datetime.strptime(text, "%Y%m%dT%H%M%S"), zone


def instant(wall, zone):
    return int(wall.replace(tzinfo=zone or UTC, fold=0).timestamp())


def length(text):
    weeks, days, hours, minutes = re.fullmatch(r"P(?:(\d+)W)?(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?)?", text).groups("0")
    return int(weeks) * 7 + int(days), int(hours) * 3600 + int(minutes) * 60


def events(path):
    """The properties of each VEVENT as (name, parameters, value)."""
    found, inside = [], False
    with open(path, "rb") as f:
        for line in icalendar.parser.Contentlines.from_ical(f.read()):
            if not line:
                continue
            name, params, value = line.parts()
            if value == "VEVENT":
                inside = name.upper() == "BEGIN"
                if inside:
                    found.append([])
            elif inside:
                found[-1].append((name.upper(), params, value))
    return found


class Event:
    def __init__(self, properties):
        self.properties = properties
        self.summary, self.uid = self.text("SUMMARY"), self.text("UID")
        (self.start, self.zone), = self.moments("DTSTART")
        self.taken = self.text("STATUS") != "CANCELLED" and self.text("TRANSP") != "TRANSPARENT"

    def text(self, name):
        return next((v for n, _, v in self.properties if n == name), "")

    def moments(self, name):
        for n, params, value in self.properties:
            if n == name:
                zone = zoneinfo.ZoneInfo(params["TZID"].removeprefix("Clocks of ")) if "TZID" in params else UTC
                for one in value.split(","):
                    yield read(one, zone)

    def instance(self, wall, zone):
        at = instant(wall, zone)
        if self.text("DURATION"):
            days, seconds = length(self.text("DURATION"))
            return at, instant(wall + days * DAY, zone) + seconds
        (end, end_zone), = self.moments("DTEND")
        return at, at + instant(end, end_zone) - instant(self.start, self.zone)

    def starts(self, last):
        yield self.start, self.zone
        yield from self.moments("RDATE")
        for n, _, value in self.properties:
            if n != "RRULE":
                continue
            parts = dict(part.split("=") for part in value.split(";"))
            until = parts.pop("UNTIL", None)
            rule = ";".join("=".join(p) for p in parts.items())
            stop = instant(*read(until, self.zone)) if until else last
            for wall in rrule.rrulestr(rule, dtstart=self.start):
                at = instant(wall, self.zone)
                if at > max(last, stop) or wall.year > 2040:
                    break
                if at <= stop:
                    yield wall, self.zone

    def instances(self, moved, last):
        out = {instant(*m) for m in self.moments("EXDATE")} | moved
        found = {}
        for wall, zone in self.starts(last):
            at, end = self.instance(wall, zone)
            if at not in out:
                found[at] = end
        return found


def expand(path, first, last):
    all_events = [Event(p) for p in events(path)]
    moved = {}
    for e in all_events:
        for wall, zone in e.moments("RECURRENCE-ID"):
            moved.setdefault(e.uid, set()).add(instant(wall, zone))
    result = {}
    for e in all_events:
        if not e.taken:
            continue
        single = any(n == "RECURRENCE-ID" for n, _, _ in e.properties)
        found = e.instances(set() if single else moved.get(e.uid, set()), last)
        result.setdefault(e.summary, []).extend([at, end] for at, end in found.items() if first <= at <= last)
    return {name: sorted(list_) for name, list_ in result.items()}


bounds = [instant(*read(text, UTC)) for text in sys.argv[1:3]]
for path in sys.argv[3:]:
    print(json.dumps(expand(path, *bounds)))
