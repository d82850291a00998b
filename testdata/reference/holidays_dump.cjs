// Prints the public holidays of regions as one JSON line per day:
//   node holidays_dump.cjs FIRSTYEAR LASTYEAR CODE...
// A holiday of several days gives several lines; one that does not take a whole
// day is marked "part".
const Holidays = require('date-holidays');

const [first, last, ...codes] = process.argv.slice(2);
const dayMS = 24 * 3600 * 1000;

for (const code of codes) {
  const calendar = new Holidays(...code.split('-'));
  for (let year = +first - 1; year <= +last + 1; year++) {
    for (const holiday of calendar.getHolidays(year)) {
      if (holiday.type !== 'public') continue;
      const length = holiday.end - holiday.start;
      const part = holiday.date.slice(11, 16) !== '00:00' || length < 20 * 3600 * 1000;
      const start = Date.parse(holiday.date.slice(0, 10) + 'T00:00:00Z');
      for (let i = 0; i < Math.max(1, Math.round(length / dayMS)); i++) {
        const day = new Date(start + i * dayMS).toISOString().slice(0, 10);
        if (day.slice(0, 4) < first || day.slice(0, 4) > last) continue;
        console.log(JSON.stringify({ code, day, name: holiday.name, part }));
      }
    }
  }
}
