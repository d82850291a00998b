// Has axe-core look at pages in a browser. On the standard input: a JSON list of views, each
// {name, path, width, media}: a file, the width of the window in CSS pixels, and "screen" or
// "print". Prints one line of JSON for each: {name, width, violations, incomplete, checked},
// where width is that of what can be scrolled to and checked counts the elements whose
// contrast was found to be enough. All rules run, best practices and the contrast of WCAG's
// level AAA among them; experimental ones do not.
//
// usage: node axe.mjs BROWSER FOLDER-OF-THE-BROWSER < views.json
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import puppeteer from "puppeteer-core";

const [executablePath, userDataDir] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const views = JSON.parse(readFileSync(0, "utf8"));
const browser = await puppeteer.launch({ executablePath, userDataDir, args: ["--no-sandbox", "--disable-gpu"] });

const told = (rules) =>
  rules.map((rule) => ({ rule: rule.id, impact: rule.impact, says: rule.nodes.map((node) => `${node.html.slice(0, 160)}: ${node.any.concat(node.all, node.none).map((check) => check.message).join("; ")}`) }));

try {
  const page = await browser.newPage();
  await page.setBypassCSP(true); // the pages allow no script, and the checker is one
  let shown;
  for (const view of views) {
    await page.setViewport({ width: view.width, height: 900 });
    await page.emulateMediaType(view.media);
    if (view.path !== shown) {
      await page.goto("file://" + view.path);
      await page.evaluate(axe);
      shown = view.path;
    }
    const found = await page.evaluate(() =>
      window.axe.run(document, { iframes: false, rules: { "color-contrast-enhanced": { enabled: true } } }),
    );
    const checked = found.passes.filter((rule) => rule.id === "color-contrast-enhanced").reduce((sum, rule) => sum + rule.nodes.length, 0);
    const width = await page.evaluate(() => document.scrollingElement.scrollWidth);
    process.stdout.write(JSON.stringify({ name: view.name, width, violations: told(found.violations), incomplete: told(found.incomplete), checked }) + "\n");
  }
} finally {
  await browser.close();
}
