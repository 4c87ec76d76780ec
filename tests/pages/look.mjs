// Walks the station's pages in Chromium and says what is wrong.
// Usage: node look.mjs ADDRESS SIGN_IN_PATH PICTURES
// Prints "ok NAME" and "not ok NAME" lines. Pictures of every page at both widths go to the folder PICTURES.

import { mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

const [address, signIn, pictures] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const WIDTHS = [360, 1280];
mkdirSync(pictures, { recursive: true });

const report = (name, problems) => {
  console.log(`${problems.length === 0 ? "ok" : "not ok"} ${name}`);
  problems.slice(0, 10).forEach((problem) => console.log(`  ${problem}`));
};

const browser = await chromium.launch({
  executablePath: "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync"],
});

// No page without a session.
const stranger = await browser.newContext();
const asStranger = await stranger.request.get(`${address}/`, { maxRedirects: 0 });
const strangerSees = await asStranger.text();
report("a stranger sees no site", [401, 403, 302, 303].includes(asStranger.status()) && !/Quarry Rim/.test(strangerSees) ? [] : [`status ${asStranger.status()}`]);

// Reading needs no script, so the whole walk is done with scripts switched off.
const reader = await browser.newContext({ javaScriptEnabled: false });
const page = await reader.newPage();
const trouble = [];
page.on("console", (message) => { if (message.type() === "error") trouble.push(message.text()); });
page.on("requestfailed", (request) => trouble.push(`${request.url()} failed`));
page.on("response", (response) => { if (response.status() >= 400) trouble.push(`${response.url()} answered ${response.status()}`); });

await page.goto(`${address}${signIn}`);
const confirm = page.locator("form button[type=submit]").first();
if (page.url().includes(signIn.split("?")[0]) && await confirm.count()) await confirm.click();
await page.goto(`${address}/`);
report("the sign-in link opens the overview", /Quarry Rim/.test(await page.content()) ? [] : [`at ${page.url()}`]);
const again = await stranger.request.post(`${address}${signIn}`, { maxRedirects: 0, headers: { origin: address } });
report("the sign-in link works once", again.status() === 401 && !again.headers()["set-cookie"] ? [] : [`a second use answered ${again.status()}`]);

// Every page that links lead to, each kind once.
const kinds = new Map();
const queue = ["/"];
const seen = new Set(queue);
while (queue.length) {
  const path = queue.shift();
  const kind = path.split("?")[0].replace(/[0-9a-f]{8}-[0-9a-f-]{27}/g, "ID");
  const wanted = !kinds.has(kind);
  if (!wanted) continue;
  kinds.set(kind, path);
  const response = await page.goto(`${address}${path}`);
  if (!(response.headers()["content-type"] ?? "").startsWith("text/html")) continue;
  const links = await page.$$eval("a[href]", (anchors) => anchors.map((anchor) => anchor.getAttribute("href")));
  for (const href of links) {
    const url = new URL(href, `${address}${path}`);
    if (url.origin !== address || /sign-out/.test(url.pathname)) continue;
    const next = url.pathname + url.search;
    if (!seen.has(next)) { seen.add(next); queue.push(next); }
  }
}
report(`links lead to at least four kinds of page (${[...kinds.keys()].join(", ")})`, kinds.size >= 4 ? [] : [...kinds.keys()]);
report("no page fails to load anything", trouble);

const withAxe = await browser.newContext({ bypassCSP: true, storageState: await reader.storageState() });
for (const [kind, path] of kinds) {
  const name = kind === "/" ? "overview" : kind.replace(/^\/|\/$/g, "").replaceAll("/", "-").replace(/[^\w-]/g, "");
  for (const width of WIDTHS) {
    await page.setViewportSize({ width, height: 800 });
    const response = await page.goto(`${address}${path}`);
    if (!(response.headers()["content-type"] ?? "").startsWith("text/html")) continue;
    const problems = await page.evaluate(() => {
      const found = [];
      const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
      if (wide > 1) found.push(`scrolls sideways by ${wide} px`);
      if (!document.documentElement.lang) found.push("no language");
      if (document.querySelectorAll("h1").length !== 1) found.push("not one h1");
      document.querySelectorAll("table").forEach((table) => { if (!table.caption?.textContent.trim()) found.push("a table without caption"); });
      document.querySelectorAll("svg[role=img]").forEach((svg) => { if (!svg.querySelector("title, desc")) found.push("a figure without text"); });
      if (/NaN|undefined|null\b|\{[a-z_]+\}/.test(document.body.innerText)) found.push(`odd text: ${document.body.innerText.match(/.{0,30}(NaN|undefined|null\b|\{[a-z_]+\}).{0,30}/)[0]}`);
      return found;
    });
    report(`${name} at ${width} px, no script`, problems);
    await page.screenshot({ path: `${pictures}/${name}-${width}.png`, fullPage: true });
  }
  const checked = await withAxe.newPage();
  await checked.goto(`${address}${path}`);
  if (await checked.evaluate(() => document.contentType === "text/html")) {
    await checked.evaluate(axe);
    const { violations } = await checked.evaluate(() => globalThis.axe.run());
    report(`${name}: axe-core finds no barrier`, violations.map((violation) => `${violation.id}: ${violation.nodes.length} × ${violation.nodes[0].target}`));
  }
  await checked.close();
}
await browser.close();
