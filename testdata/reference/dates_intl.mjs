// Prints how Intl spells days and times of day in many languages: one line for each, with
// tabs: tag, "day", "day without year" or "time", the ISO day or the time, the text.
// The narrow and the usual no-break space are printed as spaces.
//
// usage: node dates_intl.mjs FIRST-DAY COUNT TIME,TIME,... TAG...
const [first, count, times, ...tags] = process.argv.slice(2);
const dayMS = 24 * 60 * 60 * 1000;
const iso = (date) => date.toISOString().slice(0, 10);
const lines = [];
for (const tag of tags) {
  const print = (kind, key, text) => lines.push([tag, kind, key, text.replace(/[\u202f\u00a0]/g, " ")].join("\t"));
  const utc = { timeZone: "UTC" };
  const forms = {
    day: new Intl.DateTimeFormat(tag, { dateStyle: "full", ...utc }),
    "day without year": new Intl.DateTimeFormat(tag, { weekday: "long", day: "numeric", month: "long", ...utc }),
  };
  for (let n = 0; n < Number(count); n++) {
    const date = new Date(Date.parse(first) + n * dayMS);
    for (const [kind, form] of Object.entries(forms)) print(kind, iso(date), form.format(date));
  }
  const clock = new Intl.DateTimeFormat(tag, { timeStyle: "short", ...utc });
  for (const time of times.split(",")) print("time", time, clock.format(new Date(`${first}T${time}:00Z`)));
}
process.stdout.write(lines.join("\n") + "\n");
