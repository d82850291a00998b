// Reads iCalendar files with ical.js and prints one line of JSON per file: the
// events in a common form, and every error. Each VTIMEZONE of the file is
// registered in place of what the library knows by that name.
//
// usage: node ical_icaljs.mjs FILE...
import fs from "node:fs";
import ICAL from "ical.js";

function moment(time) {
  if (!time) return "";
  if (time.isDate) return time.toString();
  if (time.zone === ICAL.Timezone.localTimezone) return "floating " + time.toString();
  return new Date(time.toUnixTime() * 1000).toISOString().replace(".000Z", "Z");
}

function party(property) {
  return { name: property?.getFirstParameter("cn") ?? "", address: property?.getFirstValue() ?? "" };
}

function event(component, method) {
  const text = (name) => component.getFirstPropertyValue(name) ?? "";
  const alarms = component.getAllSubcomponents("valarm");
  return {
    uid: text("uid"),
    start: moment(component.getFirstPropertyValue("dtstart")),
    end: moment(component.getFirstPropertyValue("dtend")),
    summary: text("summary"),
    description: text("description"),
    location: text("location"),
    status: text("status"),
    sequence: component.getFirstPropertyValue("sequence") ?? 0,
    transparent: text("transp") === "TRANSPARENT",
    alarms: alarms.map((a) => a.getFirstPropertyValue("trigger").toSeconds()),
    method: method ?? "",
    organizer: party(component.getFirstProperty("organizer")),
    attendees: component.getAllProperties("attendee").map(party),
  };
}

function read(path) {
  const result = { file: path, errors: [], events: [] };
  try {
    const calendar = new ICAL.Component(ICAL.parse(fs.readFileSync(path, "utf8")));
    if (calendar.name !== "vcalendar") throw new Error("not one VCALENDAR");
    ICAL.TimezoneService.reset();
    for (const zone of calendar.getAllSubcomponents("vtimezone")) {
      ICAL.TimezoneService.register(new ICAL.Timezone(zone));
    }
    for (const component of calendar.getAllSubcomponents("vevent")) {
      for (const property of component.getAllProperties()) {
        const zone = property.getFirstParameter("tzid");
        if (zone && !ICAL.TimezoneService.has(zone)) {
          result.errors.push(`${property.name}: TZID ${zone} has no VTIMEZONE`);
        }
      }
      result.events.push(event(component, calendar.getFirstPropertyValue("method")));
    }
  } catch (why) {
    result.errors.push(String(why.message));
  }
  return result;
}

for (const path of process.argv.slice(2)) {
  console.log(JSON.stringify(read(path)));
}
