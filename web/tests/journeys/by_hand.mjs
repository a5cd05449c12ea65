// One order through the works in a real Chromium: entered, metal grown, approved, pressed, sampled, a fault heard and traced,
// quarantined, inspected, packed by scanner, shipped, the ledger closed. Everything is typed and touched on the page.
//   by_hand.mjs PROGRAM PAGES OUT
// Pictures of every view are kept in OUT/pictures. The browser is CHROMIUM, or the distribution's.
import assert from "node:assert/strict";
import { execFile, execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { promisify } from "node:util";
import { chromium } from "playwright-core";
import { Server, Steps, Watch } from "./harness.mjs";
import { programme, wav } from "./works.mjs";

const [program, pages, out] = process.argv.slice(2);
const pictures = join(out, "pictures");
rmSync(out, { recursive: true, force: true });
mkdirSync(pictures, { recursive: true });
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const password = "a long enough word";

const folder = join(out, "tarnholt");
const command = (...words) => execFileSync(program, [...words, "--in", folder], { encoding: "utf8" });
const told = (...words) => JSON.parse(command(...words, "--json", "-"));
execFileSync(program, ["works", "init", folder, "--name", "Tarnholt Pressings", "--zone", "Europe/London"]);
mkdirSync(join(folder, "cuts"));
const cut = join(folder, "cuts", "miller-a.wav");
writeFileSync(cut, wav(programme(12)));

const server = new Server(program, pages);
const watched = new Watch(server);
let page = null;
const steps = new Steps(async (failed) => {
  if (page) await page.screenshot({ path: join(pictures, `failed-${failed}.png`), fullPage: true }).catch(() => {});
  if (process.env.FIRST_FAILURE_ENDS) process.exit((await server.end(), 1));
});
const step = (name, act) => steps.step(name, act);
await server.start(folder);
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox"],
});
const context = await browser.newContext({ viewport: { width: 1440, height: 900 } });
context.setDefaultTimeout(10000);
page = watched.page(await context.newPage());
const open = async (path) => {
  await page.goto(server.url + path);
  await page.locator("main h1").waitFor();
};
const picture = (name) => page.screenshot({ path: join(pictures, `${name}.png`), fullPage: true });
/** The view as it stands, in the midst of work, on a phone and on a wall screen. */
const picture_small_and_large = async (name) => {
  await picture(name);
  for (const [width, height] of [
    [360, 740],
    [3840, 2160],
  ]) {
    await page.setViewportSize({ width, height });
    await page.waitForTimeout(100);
    await picture(`${width}-${name}`);
    const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    assert.ok(over <= 0, `${name} at ${width}: ${over} px too wide`);
  }
  await page.setViewportSize({ width: 1440, height: 900 });
};
const ask = (path) => page.evaluate(async (asked) => (await fetch(asked)).json(), path);
const button = (name) => page.getByRole("button", { name, exact: typeof name === "string" });
const said = (words) => page.getByRole("status").getByText(words).first().waitFor();
/** A refusal is meant: the browser's console tells of the 409. */
const refused = async (words, act) => {
  watched.pardon = true;
  await act();
  await page.getByRole("alert").getByText(words).first().waitFor();
  watched.pardon = false;
};
/** What the address says, once it is another kind of page. */
const code_of_page = async (kind) => {
  await page.waitForURL((url) => url.pathname.startsWith(`/${kind}/`));
  await page.locator("main h1").waitFor();
  return decodeURIComponent(new URL(page.url()).pathname.split("/")[2]);
};
const at = {};

await step("the first account", async () => {
  const link = await server.hears(/(http:\S+#first=\S+)/);
  await page.goto(link);
  await page.getByLabel("Name").fill("foreman");
  await page.getByLabel(/^Password/).fill(password);
  await button("Make the first account").click();
  await page.getByRole("heading", { name: "Tarnholt Pressings" }).waitFor();
  await picture("line-empty");
});

await step("an order is entered: a new title, its sides, two places", async () => {
  await page.getByRole("navigation", { name: "Views of the works" }).getByRole("link", { name: "Enter an order" }).click();
  await page.getByLabel("Name").fill("The Miller's Road");
  await page.getByLabel("Artist").fill("Tarnholt Trio");
  await page.getByLabel("Format").selectOption("7in-45");
  await page.getByLabel("Discs ordered").fill("60");
  await page.getByLabel("Due", { exact: true }).fill("2026-12-18");
  await page.getByLabel("Customer", { exact: true }).fill("Hill & Daughters");
  for (const [i, place, discs] of [
    [1, "Hill, Bath", "40"],
    [2, "Daughters, Leeds", "30"],
  ]) {
    await button("Add a place").click();
    await page.getByLabel(`Place ${i}`, { exact: true }).fill(place);
    await page.getByLabel(`Discs for place ${i}`).fill(discs);
  }
  await refused(/70 discs together/, () => button("Enter the order").click());
  await page.getByLabel("Discs for place 2").fill("20");
  await picture("order-enter");
  await button("Enter the order").click();
  at.order = await code_of_page("order");
  const { order } = await ask(`/api/orders/${at.order}`);
  at.title = order.title;
  const { sides } = await ask(`/api/titles/${at.title}`);
  [at.side_a, at.side_b] = sides.map((one) => one.code);
  assert.deepEqual(
    sides.map((one) => one.letter),
    ["A", "B"],
  );
});

/** By the page of any noun: its fields by their names. */
const enter = async (kind, fields) => {
  await open(`/enter/${kind}`);
  for (const [label, value] of Object.entries(fields)) {
    const field = page.getByRole("main").getByLabel(new RegExp(`^${label}`)).first();
    if (await field.evaluate((one) => one.tagName === "SELECT")) await field.selectOption(value);
    else await field.fill(value);
  }
  await button(new RegExp(`^Enter the ${kind}`)).click();
  const link = page.getByRole("link", { name: new RegExp(`^Open ${kind} `) });
  await link.waitFor();
  return (await link.innerText()).split(" ").pop();
};

await step("press, compound, spindles and the cut are entered", async () => {
  at.press = await enter("press", { Name: "Press 1" });
  at.batch = await enter("batch", { Material: "vinyl", Colour: "black", Mass: "80 kg" });
  at.spindle = await enter("spindle", { Name: "7" });
  at.other = await enter("spindle", { Name: "8" });
  await picture("enter-spindle");
  at.cut = await enter("cut", { Side: at.side_a, Reference: "cuts/miller-a.wav", Pitch: "0.2mm" });
  at.back = await enter("part", { Kind: "stamper", Side: at.side_b, Origin: "bought", Supplier: "Metal Ltd" });
});

/** Steps of the part whose page is open, by its buttons. */
const done = async (...names) => {
  for (const name of names) {
    await button(name).click();
    if (name === "Withdrawn") await page.getByLabel("Why", { exact: true }).fill("pop at 0:07");
    await button(`Enter: ${name.toLowerCase()}`).click();
    await said(new RegExp(`${name}: `));
    await button(`Enter: ${name.toLowerCase()}`).waitFor({ state: "detached" });
  }
};
const grow = async (kind) => {
  const before = page.url();
  await button(`Grow a ${kind} on it`).click();
  await page.waitForURL((url) => url.href !== before);
  return code_of_page("part");
};

await step("metal is grown: lacquer, father, mother, two stampers; each step where its state allows it", async () => {
  at.lacquer = await enter("part", { Kind: "lacquer", Cut: at.cut });
  await page.getByRole("link", { name: /^Open part/ }).click();
  await code_of_page("part");
  assert.equal(await button("Punched").count(), 0);
  await done("Silvered");
  at.father = await grow("father");
  await button("Grown").click();
  await page.getByLabel("Value of thickness, with its unit").fill("420 um");
  await page.getByText("Extraction, gloves").waitFor(); // the caution, where the act is
  await picture_small_and_large("part-step");
  await button("Enter: grown").click();
  await said(/Grown: /);
  await page.getByRole("region", { name: "Steps" }).getByText(/thickness 0\.420\smm/).waitFor();
  await done("Separated", "Inspected", "Passivated");
  at.mother = await grow("mother");
  await done("Grown", "Separated", "Inspected");
  await done("Passivated");
  const finish = ["Grown", "Separated", "Faced", "Backed", "Centred", "Punched", "Trimmed", "Inspected"];
  at.stampers = [await grow("stamper")];
  await done(...finish);
  await picture("part-ready");
  // The second is entered by the command beside it; the page follows.
  command("works", "log", at.mother, "passivated");
  at.stampers.push(told("works", "add", "part", "kind=stamper", `parent=${at.mother}`).code);
  for (const name of finish) command("works", "log", at.stampers[1], name.toLowerCase());
  await page.getByRole("link", { name: "Its family" }).click();
  await page.getByRole("heading", { name: "3 stampers ready" }).waitFor();
  await picture("family");
});

const keyed = async (figures) => {
  await button("Clear").click();
  for (const key of figures) await page.locator(".keys-grid").getByRole("button", { name: key, exact: true }).click();
};
const counted = async (figures, purpose = "Discs", spindle = "") => {
  await page.getByLabel(purpose, { exact: true }).check();
  await page.getByLabel("Onto spindle").selectOption(spindle);
  await keyed(figures);
  await button(`Enter counter ${figures}`).click();
};
const mount = async (stamper, figures) => {
  await page.getByLabel("Top, side A").selectOption(stamper);
  await page.getByLabel("Bottom, side B").selectOption(at.back);
  await keyed(figures);
  await button("Mount on Press 1").click();
  await page.getByRole("form", { name: "Enter the count" }).or(page.getByText("No open run")).first().waitFor();
};

await step("stampers are mounted, a test pressing is made, a ticket printed", async () => {
  at.test = await enter("run", { Order: at.order, Press: at.press, Purpose: "test" });
  await page.getByRole("navigation", { name: "The line" }).getByRole("link", { name: /^Press/ }).click();
  await page.getByRole("heading", { name: "0 of 1 press mounted" }).waitFor();
  await mount(at.stampers[0], "1000");
  await page.getByRole("heading", { name: "1 of 1 presses mounted" }).or(page.getByRole("heading", { name: "1 of 1 press mounted" })).waitFor();
  await refused(/1000 was entered before/, () => counted("990"));
  await counted("1003");
  await said("3 discs entered: impressions 1 to 3");
  await button("Pull the disc just pressed").click();
  await said(/Ticket S-/);
  const print = page.getByRole("link", { name: /^Print ticket/ });
  at.first_ticket = (await print.innerText()).split(" ").pop();
  const paper = await context.request.get(server.url + (await print.getAttribute("href")));
  assert.equal(paper.headers()["content-type"], "application/pdf");
  assert.ok((await paper.body()).subarray(0, 4).equals(Buffer.from("%PDF")));
  await picture("press");
});

await step("no run starts before the test pressing is approved", async () => {
  at.run = await enter("run", { Order: at.order, Press: at.press });
  await open("/station/press");
  await page.getByRole("combobox", { name: "Run", exact: true }).selectOption(at.run);
  await refused(/cannot start/, () => counted("1050"));
  await open(`/order/${at.order}`);
  const approval = page.getByRole("form", { name: "Enter an approval" });
  await approval.getByLabel("Sent to the customer").check();
  await approval.getByLabel("Ticket of the disc").fill(at.first_ticket);
  await button("Enter: sent").click();
  await said("The test pressing is sent.");
  await approval.getByLabel("Approved").check();
  await approval.getByLabel("What was said").fill("lovely, go ahead");
  await button("Enter: approved").click();
  await said("The test pressing is approved.");
  await picture("order-approved");
});

await step("the run: warm-up, discs on spindles, samples, a stamper change, counts by the counter alone", async () => {
  await open("/station/press");
  await page.getByRole("combobox", { name: "Run", exact: true }).selectOption(at.run);
  await counted("1007", "Warm-up");
  await said("4 discs entered: impressions 1 to 4, warm up, to scrap.");
  const sampled = async (figures, spindle) => {
    await counted(figures, "Discs", spindle);
    await said(/discs entered/);
    await button("Pull the disc just pressed").click();
    await said(/Ticket S-/);
    const print = page.getByRole("link", { name: /^Print ticket/ });
    return (await print.innerText()).split(" ").pop();
  };
  at.tickets = [await sampled("1027", at.spindle), await sampled("1057", at.spindle)];
  await button("Take back entry").or(button(/^Take back entry/)).first().waitFor();
  await picture_small_and_large("press-run");
  await page.getByText("Take the stampers off").click();
  await page.getByLabel("Counter reads", { exact: true }).fill("1057");
  await page.getByLabel("Why they come off").fill("change");
  await button(/^Take M-.* off$/).click();
  await page.getByRole("form", { name: "Mount stampers" }).waitFor();
  await picture("press-mount");
  await mount(at.stampers[1], "1057");
  await page.getByRole("combobox", { name: "Run", exact: true }).selectOption(at.run);
  at.tickets.push(await sampled("1077", at.other), await sampled("1087", at.other));
  const { impressions, counts } = await ask(`/api/runs/${at.run}`);
  assert.deepEqual([impressions, counts.in_sample], [84, 4]);
});

await step("the samples are heard by the engine; the trace names the second stamper; its discs are held", async () => {
  const play = (file, seed, ...faults) =>
    promisify(execFile)(program, [
      ...["play", cut, "--out", file, "--format", "7in-45", "--pitch", "0.2mm", "--rate", "48kHz", "--noise", "-62"],
      ...["--offset", "0.05mm", "--seed", String(seed)],
      ...faults.flatMap((fault) => ["--fault", fault]),
    ]);
  const files = at.tickets.map((ticket) => join(out, `${ticket}_A.wav`));
  await Promise.all(
    files.map((file, i) => play(file, i + 1, `tick@${1.5 + i}s,peak=-14`, ...(i > 1 ? ["pop@7.3s,peak=-8"] : []))),
  );
  await open("/bench");
  await page.getByLabel("Recordings").setInputFiles(files);
  await page
    .getByRole("list", { name: "Captures brought" })
    .getByText(/within limits|outside limits/)
    .nth(files.length - 1)
    .waitFor({ timeout: 60000 });
  await open(`/trace/${at.side_a}`);
  await page.getByRole("button", { name: /^Hold impressions/ }).waitFor({ timeout: 30000 });
  await picture("trace");
  await page.getByRole("button", { name: /^Hold impressions/ }).click();
  await page.getByText(/discs? held/).waitFor();
  const { counts, holds } = await ask(`/api/runs/${at.run}`);
  assert.ok(counts.suspect >= 28, JSON.stringify(counts));
  // The microscope finds a scratch on the second stamper: its own discs are held, and those of the first let go.
  await open(`/run/${at.run}`);
  await button(`Take back hold ${holds[0].entry}`).click();
  await page.getByText("Nothing is held.").waitFor();
  await open(`/part/${at.stampers[1]}`);
  await page.getByLabel("Quarantine all pressed from it, because").fill("scratch under the microscope");
  await button("Hold its discs").click();
  await said("28 discs held"); // 30 closings, two of them samples
  await picture("part-suspect");
  await button("Washed on press").waitFor();
  assert.equal(await button("Withdrawn").count(), 0); // it is on the press: it comes off first
});

await step("what is suspect is scrapped, with its reason", async () => {
  await open(`/run/${at.run}`);
  await picture("run-suspect");
  await page.getByLabel("Reason for the scrap").fill("pop at 0:07, second stamper");
  await button("Scrap 28 suspect discs").click();
  await said(/discs? to scrap/);
  const { counts } = await ask(`/api/runs/${at.run}`);
  assert.equal(counts.suspect, 0);
  at.left = counts.pressed;
  assert.equal(at.left + counts.scrap + counts.in_sample, 84);
});

await step("more discs are wanted: a stamper from the same mother, and the run goes on", async () => {
  await open("/station/press");
  await page.getByText("Take the stampers off").click();
  await page.getByLabel("Why they come off").fill("pop at 0:07");
  await button(/^Take M-.* off$/).click();
  await page.getByRole("form", { name: "Mount stampers" }).waitFor();
  await mount(at.stampers[0], "1087");
  await page.getByRole("combobox", { name: "Run", exact: true }).selectOption(at.run);
  await counted("1110", "Discs", at.other);
  await said("23 discs entered");
  await open(`/part/${at.stampers[1]}`);
  await done("Withdrawn");
});

/** A scan that goes to no field, at a scanner's pace: the driver's own keys may come too slowly on a busy machine. */
const scan_beside = (text) =>
  page.evaluate((sent) => {
    for (const key of [...sent, "Enter"])
      document.body.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
  }, text);

let second = null;
await step("the inspection table: a key for each reason, taken back, the count closing after each touch", async () => {
  second = watched.page(await context.newPage());
  await second.goto(`${server.url}/station/store`);
  await second.locator("main h1").waitFor();
  await page.getByRole("navigation", { name: "The line" }).getByRole("link", { name: /^Store/ }).click();
  await page.getByRole("heading", { name: /discs to be looked at/ }).waitFor();
  // A scan puts a stack on the table, and none of its characters is taken for a reason's key. The page listens for scans a
  // moment after it shows: somebody would scan again.
  const stack = page.getByRole("heading", { name: /^Spindle 8: 23 discs/ });
  for (let tries = 0; tries < 4 && !(await stack.isVisible()); ++tries) {
    await scan_beside(at.other);
    await stack.waitFor({ timeout: 2000 }).catch(() => {});
  }
  await stack.waitFor();
  await scan_beside(at.spindle.toLowerCase());
  await page.getByRole("heading", { name: /^Spindle 7: 48 discs/ }).waitFor();
  const keys = page.getByRole("group", { name: "Take one off, because of" });
  await keys.getByRole("button", { name: /Blister/ }).click();
  await said(/Blister: one to scrap/);
  await page.locator("h1").click();
  await page.keyboard.press("1"); // chip
  await said(/Chip: one to scrap/);
  await page.keyboard.press("1");
  await keys.getByRole("button", { name: /Chip.*2/ }).waitFor();
  await page.keyboard.press("Backspace");
  await said(/Entry \d+ is taken back/);
  await keys.getByRole("button", { name: /Chip.*1/ }).waitFor();
  await picture_small_and_large("inspect");
  assert.equal(told("works", "check").closes, true);
  // The other browser has seen it.
  await second.getByText("2 discs taken off").waitFor();
  await second.close();
  await page.getByLabel("Good ones counted (may be left out)").fill("3");
  await refused(/3 good discs counted, and the ledger holds/, () => button(/^The other \d+ are good$/).click());
  await picture("inspect-refused");
  await page.getByLabel("Good ones counted (may be left out)").fill("");
  await button(/^The other \d+ are good$/).click();
  await said("46 discs good, 2 to scrap: the spindle is done.");
  const { stacks } = await ask("/api/inspection");
  assert.deepEqual(
    stacks.map((one) => one.spindle),
    [at.other, null],
  );
  await page.getByRole("list", { name: "Stacks" }).getByRole("button", { name: /Spindle 8/ }).click();
  await button(/^The other \d+ are good$/).click();
  await said("23 discs good, 0 to scrap");
});

/** As a scanner types: into whatever has the focus. */
const scan = async (text) => {
  await page.waitForFunction(() => document.activeElement?.id === "scan");
  await page.keyboard.type(text);
  await page.keyboard.press("Enter");
};

await step("packing by scanner alone: a spindle fills cartons, a carton and its count close it", async () => {
  await page.getByRole("navigation", { name: "The line" }).getByRole("link", { name: /^Dispatch/ }).click();
  await page.getByRole("heading", { name: "Pack and ship" }).waitFor();
  await scan(at.order.toLowerCase());
  await page.getByRole("heading", { name: "0 of 60 discs shipped" }).waitFor();
  await page.getByLabel("Discs to a carton").fill("20");
  await page.locator("h1").click(); // beside everything: the field has the focus again
  await scan(at.spindle);
  await said(new RegExp(`off ${at.spindle} into`));
  await picture("pack-filled");
  await button(/^Fill from \d+ good discs$/).click();
  const { cartons } = await ask(`/api/orders/${at.order}/packing`);
  await page.waitForFunction(
    async (order) => (await (await fetch(`/api/orders/${order}/packing`)).json()).cartons.length >= 3,
    at.order,
  );
  at.cartons = (await ask(`/api/orders/${at.order}/packing`)).cartons.map((one) => one.code);
  assert.ok(cartons.length <= at.cartons.length);
  assert.equal(at.cartons.length, 3);
  await page.locator("h1").click();
  await scan(at.cartons[0]);
  await page.getByText("is in hand").waitFor();
  await refused(/19/, () => scan("19")); // counted one too few: it stays open, and says why
  await picture_small_and_large("pack-refused");
  for (const carton of at.cartons) {
    if (carton !== at.cartons[0]) await scan(carton);
    await page.getByRole("region", { name: "In hand" }).getByText(carton).waitFor();
    await scan("20");
    await said(`${carton} is closed with 20 discs`);
  }
  await refused(/nothing of this record carries/i, () => scan("K-999999-P"));
  await picture("pack-closed");
});

await step("two shipments leave, and what is owed falls to nothing", async () => {
  for (const [place, units] of [
    ["Hill, Bath, 40", at.cartons.slice(0, 2)],
    ["Daughters, Leeds, 20", at.cartons.slice(2)],
  ]) {
    await page.getByLabel("For the place").selectOption({ label: place });
    await button("Begin a shipment").click();
    await page.getByText("is being loaded").waitFor();
    await page.locator("h1").click();
    for (const unit of units) {
      await scan(unit);
      await page.getByRole("region", { name: "In hand" }).getByText(unit).waitFor();
    }
    if (units.length === 2) await picture("pack-loading");
    await button(`Ship ${units.length} unit${units.length === 1 ? "" : "s"}`).click();
    await said(/have left with/);
  }
  await page.getByRole("heading", { name: "60 of 60 discs shipped" }).waitFor();
  await page.getByRole("link", { name: at.order }).first().click();
  await page.getByText("0 discs owed of 60 ordered").waitFor();
  await page.getByRole("list", { name: "Shipments that have left" }).getByText("40 discs in 2 cartons").waitFor();
  await picture("order-shipped");
  const list = page.getByRole("link", { name: "Packing list" }).first();
  const paper = await context.request.get(server.url + (await list.getAttribute("href")));
  assert.equal(paper.headers()["content-type"], "application/pdf");
});

await step("the ledger closes, on the page and by the command", async () => {
  await open("/ledger");
  await page.getByRole("heading", { name: "The count closes" }).waitFor();
  await button("Check the record").click();
  await page.getByText("The record is what its log says").waitFor();
  await picture("ledger");
  const checked = told("works", "check");
  assert.equal(checked.closes, true);
  const { counts, impressions } = await ask("/api/ledger");
  assert.equal(
    Object.values(counts).reduce((sum, one) => sum + one, 0),
    impressions,
  );
  assert.equal(impressions, checked.impressions);
});

await step("a day's walk: title to shipment and back, a step each, by one key", async () => {
  await open(`/title/${at.title}`);
  const walked = [];
  const walk = async (key, until) => {
    for (let i = 0; i < 12; ++i) {
      const before = page.url();
      for (let tries = 0; tries < 60 && page.url() === before; ++tries) {
        await page.keyboard.press(key); // as soon as the neighbours are there
        await page.waitForTimeout(50);
      }
      assert.notEqual(page.url(), before, `nothing ${key} ${before}`);
      walked.push(new URL(page.url()).pathname);
      if (walked.at(-1) === until) return;
    }
    assert.fail(`${until} was not reached: ${walked.join(" ")}`);
  };
  await walk(".", `/run/${at.run}`);
  await walk(",", `/part/${at.mother}`);
  await open(`/run/${at.run}`);
  await picture("flow");
  // What is scanned on any page opens.
  await scan_beside(at.cartons[0]);
  await page.waitForURL((url) => url.pathname === `/thing/${at.cartons[0]}`);
  // Any number on anything is found.
  for (const number of [at.spindle, at.cartons[0], at.tickets[0], at.father, at.press]) {
    await page.getByRole("combobox", { name: /Any number/ }).fill(number);
    await page.getByRole("option").filter({ hasText: number }).first().waitFor();
    await page.keyboard.press("Enter");
    await page.waitForURL((url) => url.pathname.endsWith(number));
    await page.locator("main h1").waitFor();
  }
});

await step("each does what is theirs: a viewer looks, a clerk enters orders, a station packs", async () => {
  for (const role of ["viewer", "clerk", "station"]) {
    await page.evaluate(
      async ([name, word]) => {
        const { csrf } = await (await fetch("/api/session")).json();
        await fetch("/api/accounts", {
          method: "POST",
          headers: { "Content-Type": "application/json", "X-CSRF-Token": csrf },
          body: JSON.stringify({ name, password: word, roles: [name] }),
        });
      },
      [role, password],
    );
    const apart = await browser.newContext();
    apart.setDefaultTimeout(10000);
    const other = watched.page(await apart.newPage());
    await other.goto(`${server.url}/enter-order`);
    await other.getByLabel("Name").fill(role);
    await other.getByLabel("Password").fill(password);
    await other.getByRole("button", { name: "Sign in" }).click();
    const order = other.getByRole("button", { name: "Enter the order" });
    await order.waitFor();
    assert.equal(await order.isDisabled(), role !== "clerk", role);
    await other.goto(`${server.url}/station/store`);
    await other.getByRole("list", { name: "Stacks" }).getByRole("button").first().click().catch(() => {});
    const key = other.getByRole("button", { name: /Chip/ });
    if ((await key.count()) > 0) assert.equal(await key.isDisabled(), role !== "station", role);
    await other.goto(`${server.url}/pack/${at.order}`);
    await other.locator("main h1").waitFor();
    assert.equal(await other.locator("#scan").count(), role === "viewer" ? 0 : 1, role);
    await apart.close();
  }
});

const views = [
  ["/", "line"],
  ["/enter-order", "order-enter"],
  ["/enter", "enter"],
  ["/enter/part", "enter-part"],
  [`/order/${at.order}`, "order"],
  [`/title/${at.title}`, "title"],
  [`/family/${at.title}`, "family"],
  ["/station/metal", "metal"],
  [`/part/${at.stampers?.[0]}`, "part"],
  [`/press/${at.press}`, "press"],
  ["/station/store", "store"],
  ["/station/dispatch", "dispatch"],
  [`/pack/${at.order}`, "pack"],
  [`/thing/${at.cartons?.[0]}`, "carton"],
  [`/run/${at.run}`, "run"],
  ["/ledger", "ledger"],
];

await step("WCAG 2.2 AA: axe finds nothing in any of these views, by day and by night", async () => {
  const found = [];
  for (const colorScheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme });
    // At night only the colours differ: the views that hold them all.
    for (const [view, name] of colorScheme === "light" ? views : views.filter(([, one]) => /order$|press|pack|family/.test(one))) {
      await open(view);
      await page.waitForTimeout(100);
      await page.evaluate(() => document.querySelectorAll("details").forEach((one) => (one.open = true)));
      await page.evaluate(axe);
      const rules =
        colorScheme === "light"
          ? ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
          : { type: "rule", values: ["color-contrast"] };
      const result = await page.evaluate((only) => globalThis.axe.run(document, { runOnly: only }), rules);
      assert.ok(result.passes.length > 0, `${view} was not looked at`);
      for (const one of result.violations)
        found.push(`${colorScheme} ${view}: ${one.id}: ${one.nodes.map((node) => node.html).slice(0, 2)}`);
      if (colorScheme === "dark") await picture(`dark-${name}`);
    }
  }
  await page.emulateMedia({ colorScheme: "light" });
  assert.deepEqual(found, []);
});

await step("from 360 px to 4K nothing runs out of the page, and what is touched is 44 px high", async () => {
  const small = [];
  for (const [width, height] of [
    [360, 740],
    [3840, 2160],
  ]) {
    await page.setViewportSize({ width, height });
    for (const [view, name] of views) {
      await open(view);
      await page.waitForTimeout(150);
      const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      if (over > 0) small.push(`${view} at ${width}: ${over} px too wide`);
      if (width === 360)
        small.push(
          ...(await page.evaluate(
            ([at, wide]) =>
              [...document.querySelectorAll("main.by-hand button:not(.quiet), main.by-hand select, main.by-hand a.touch")]
                .filter((one) => one.offsetParent !== null && one.getBoundingClientRect().height < 44)
                .map((one) => `${at} at ${wide}: ${one.outerHTML.slice(0, 80)}`),
            [view, width],
          )),
        );
      await picture(`${width}-${name}`);
    }
  }
  await page.setViewportSize({ width: 1440, height: 900 });
  assert.deepEqual(small, []);
});

await step("the page broke none of the server's policies and asked nobody else", async () =>
  assert.deepEqual(watched.troubles, []),
);

await browser.close();
await server.end();
writeFileSync(join(out, "server.txt"), server.said);
process.exit(steps.end(pictures));
