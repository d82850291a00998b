// Expands the events of iCalendar files that repeat with ical.js and prints one line
// of JSON per file: by event, named by its summary, the start and end of each
// instance in seconds since 1970, or the error it makes. Each VTIMEZONE of the file
// is registered in place of what the library knows by that name.
//
// usage: node rrule_icaljs.mjs FIRST LAST FILE...   (first and last start, YYYYMMDD, UTC)
import fs from "node:fs";
import ICAL from "ical.js";

function seconds(time) {
  if (time.isDate) return Date.UTC(time.year, time.month - 1, time.day) / 1000;
  return time.toUnixTime();
}

function taken(component) {
  const text = (name) => component.getFirstPropertyValue(name) ?? "";
  return text("status") !== "CANCELLED" && text("transp") !== "TRANSPARENT";
}

function instances(component, exceptions, first, last) {
  const event = new ICAL.Event(component, { exceptions });
  const found = [];
  const iterator = event.iterator();
  for (let start = iterator.next(); start; start = iterator.next()) {
    // A week more, for an instance may be moved to an earlier time.
    if (seconds(start) > last + 7 * 86400) break;
    const one = event.getOccurrenceDetails(start);
    const at = seconds(one.startDate);
    if (taken(one.item.component) && at >= first && at <= last) found.push([at, seconds(one.endDate)]);
  }
  return found.sort((x, y) => x[0] - y[0]);
}

function expand(path, first, last) {
  const calendar = new ICAL.Component(ICAL.parse(fs.readFileSync(path, "utf8")));
  ICAL.TimezoneService.reset();
  for (const zone of calendar.getAllSubcomponents("vtimezone")) {
    ICAL.TimezoneService.register(new ICAL.Timezone(zone));
  }
  const masters = [];
  const exceptions = new Map();
  for (const c of calendar.getAllSubcomponents("vevent")) {
    const uid = c.getFirstPropertyValue("uid");
    if (!c.hasProperty("recurrence-id")) masters.push(c);
    else exceptions.set(uid, [...(exceptions.get(uid) ?? []), c]);
  }
  const result = {};
  for (const c of masters) {
    const name = c.getFirstPropertyValue("summary");
    try {
      result[name] = instances(c, exceptions.get(c.getFirstPropertyValue("uid")) ?? [], first, last);
    } catch (why) {
      result[name] = String(why.message);
    }
  }
  return result;
}

const [first, last] = process.argv.slice(2, 4).map((d) => Date.UTC(+d.slice(0, 4), +d.slice(4, 6) - 1, +d.slice(6)) / 1000);
for (const path of process.argv.slice(4)) {
  console.log(JSON.stringify(expand(path, first, last)));
}
