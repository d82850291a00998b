#!/usr/bin/python3
"""Reads iCalendar files with a library and writes them again as the library does.

usage: ical_rewrite.py icalendar|vobject FILE OUT [FILE OUT ...]
"""
import sys


def with_icalendar(data):
    import icalendar
    return icalendar.Calendar.from_ical(data).to_ical()


def with_vobject(data):
    import vobject
    return vobject.readOne(data.decode("utf-8")).serialize().encode("utf-8")


def main():
    rewrite = {"icalendar": with_icalendar, "vobject": with_vobject}[sys.argv[1]]
    names = sys.argv[2:]
    for file, out in zip(names[0::2], names[1::2]):
        with open(file, "rb") as f:
            data = rewrite(f.read())
        with open(out, "wb") as f:
            f.write(data)


main()
