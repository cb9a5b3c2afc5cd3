// Loads the window's web build in a headless Chromium, drives it, and turns a slider that changes a trace.
//
//   node drive.mjs SITE_FOLDER CHROMIUM PICTURE.png
//
// What goes on is read from the page's status line, which the window writes in every frame.
import { createServer } from "node:http";
import { readFile } from "node:fs/promises";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { extname, join, normalize } from "node:path";
import { chromium } from "playwright-core";

const [site, browserPath, picture] = process.argv.slice(2);
const KINDS = { ".html": "text/html", ".js": "text/javascript", ".wasm": "application/wasm" };
// Where the first slider, the brake's strength, is at 1280 x 720: its right end, where it stands, and beyond
// its left one.
const SLIDER = { y: 130, from: 257, to: 150 };

const server = createServer(async (request, answer) => {
  const path = normalize(new URL(request.url, "http://x").pathname);
  const name = path === "/" ? "/index.html" : path;
  try {
    const body = await readFile(join(site, name));
    answer.writeHead(200, { "content-type": KINDS[extname(name)] ?? "application/octet-stream" });
    answer.end(body);
  } catch {
    answer.writeHead(404).end();
  }
});
await new Promise((done) => server.listen(0, "127.0.0.1", done));

const profile = mkdtempSync(join(tmpdir(), "easeoff-browser-"));
const context = await chromium.launchPersistentContext(profile, {
  executablePath: browserPath,
  headless: true,
  viewport: { width: 1280, height: 720 },
  colorScheme: "light",
  args: ["--headless=new", "--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
    "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update",
    "--disable-sync"],
});
const page = context.pages()[0] ?? await context.newPage();
const wrong = [];
page.on("pageerror", (error) => wrong.push(String(error)));

const status = () => page.locator("#status").textContent();
const number = (words, pattern) => Number(words.match(pattern)?.[1] ?? NaN);
const seen = (words) => ({
  words,
  mode: words.split(" ")[0],
  duty: number(words, /duty (-?[\d.]+)/),
  brake: number(words, /brake (-?[\d.]+)/),
  time: number(words, / ([\d.]+) s /),
});

/** Waits until what is seen is as wanted. */
async function until(what, wanted, seconds = 60) {
  const end = Date.now() + 1000 * seconds;
  let last;
  while (Date.now() < end) {
    last = seen(await status());
    if (wanted(last)) return last;
    if (/could not start|cannot draw/.test(last.words)) throw new Error(last.words);
    await page.waitForTimeout(20);
  }
  throw new Error(`${what} did not come within ${seconds} s; last: ${last?.words}`);
}

/** Drives off, lets go, and returns the strongest braking in the half second after that. */
async function letOff() {
  await page.keyboard.press("r");
  await until("a new start", (now) => now.mode === "Disarmed");
  await until("arming", (now) => now.mode === "Neutral");
  await page.keyboard.down("w");
  await until("full throttle", (now) => now.duty > 0.8);
  await page.keyboard.up("w");
  const let_go = await until("the throttle let go", (now) => now.mode === "Neutral" && now.duty === 0);
  let strongest = 0;
  await until("half a second", (now) => {
    strongest = Math.max(strongest, now.brake);
    return now.time > let_go.time + 0.5;
  });
  return strongest;
}

function check(holds, words) {
  if (!holds) throw new Error(words);
  console.log(words);
}

try {
  const begun = Date.now();
  await page.goto(`http://127.0.0.1:${server.address().port}/`);
  await until("the first tick", (now) => now.time > 0);
  console.log(`loaded: it drives after ${((Date.now() - begun) / 1000).toFixed(1)} s`);
  await page.mouse.click(700, 200);
  const before = await letOff();
  check(before > 0.05, `let off with the demo's tune, the brake comes in: ${before}`);
  await page.mouse.move(SLIDER.from, SLIDER.y);
  await page.mouse.down();
  await page.mouse.move(SLIDER.to, SLIDER.y, { steps: 8 });
  await page.mouse.up();
  const turned = await until("the slider", (now) => now.words.includes("turned: Drag brake: final level 0"), 10);
  check(/Drag brake: final level 0( |$)/.test(turned.words), "the slider turns the brake's strength to 0");
  await page.mouse.click(700, 200);
  const after = await letOff();
  check(after === 0, `let off again, no brake comes in: ${after}`);
  if (picture) await page.screenshot({ path: picture });
  check(wrong.length === 0, `errors in the page: ${wrong.length} ${wrong.join("; ")}`);
} finally {
  await context.close();
  server.close();
  rmSync(profile, { recursive: true, force: true });
}
