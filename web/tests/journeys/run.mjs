// Journeys of a listener and an engineer through the page, in a real Chromium against the program itself.
//   run.mjs PROGRAM PAGES OUT
// Pictures of every view are kept in OUT/pictures. The browser is CHROMIUM, or the distribution's.
import assert from "node:assert/strict";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { basename, join } from "node:path";
import { chromium } from "playwright-core";
import { Server, Steps, Watch } from "./harness.mjs";
import { fault_s, make_works } from "./works.mjs";
import { long_side } from "./long_side.mjs";
import { SoundBench } from "./sound_bench.mjs";

const [program, pages, out] = process.argv.slice(2);
const pictures = join(out, "pictures");
rmSync(pictures, { recursive: true, force: true });
mkdirSync(pictures, { recursive: true });
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const password = "a long enough word";

const server = new Server(program, pages, () => sound_bench.environment);
const watched = new Watch(server);
const watch = (page) => watched.page(page);
let page = null;
const steps = new Steps(async (failed) => {
  if (page) await page.screenshot({ path: join(pictures, `failed-${failed}.png`), fullPage: true }).catch(() => {});
});
const step = (name, act) => steps.step(name, act);

const works = await make_works(program, out);
console.log(`works made (${((Date.now() - steps.began) / 1000).toFixed(1)} s)`);
const sound_bench = new SoundBench(out);
await server.start(works.works);
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"],
});
const context = await browser.newContext({
  viewport: { width: 1440, height: 900 },
  permissions: ["clipboard-read", "clipboard-write"],
});
context.setDefaultTimeout(15000);
// What is really played: every buffer that is started is kept, samples and all.
await context.addInitScript(() => {
  globalThis.played = [];
  const start = AudioBufferSourceNode.prototype.start;
  AudioBufferSourceNode.prototype.start = function (...when) {
    const { buffer } = this;
    globalThis.played.push({
      loop: this.loop,
      rate_Hz: buffer.sampleRate,
      left: buffer.getChannelData(0).slice(),
      channels: buffer.numberOfChannels,
    });
    return start.apply(this, when);
  };
});
page = watch(await context.newPage());
const heading = () => page.locator("h1").innerText();
const open = async (path) => {
  await page.goto(server.url + path);
  await page.locator("main h1").waitFor();
};
const picture = (name) => page.screenshot({ path: join(pictures, `${name}.png`), fullPage: true });
const ask = (path) => page.evaluate(async (asked) => (await fetch(asked)).json(), path);

let report = null;

await step("the one-time link makes the first account", async () => {
  const link = await server.hears(/(http:\S+#first=\S+)/);
  await page.goto(link);
  await page.getByLabel("Name").fill("foreman");
  await page.getByLabel(/^Password/).fill(password);
  await picture("first-account");
  await page.getByRole("button", { name: "Make the first account" }).click();
  await page.getByRole("heading", { name: "Tarnholt Pressings" }).waitFor();
  await picture("line");
});

await step("a wrong password is refused in words, the right one lets in", async () => {
  await page.getByRole("button", { name: "Sign out" }).click();
  await page.getByLabel("Name").fill("foreman");
  await page.getByLabel("Password").fill("not the word at all");
  watched.pardon = true;
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.getByRole("alert").waitFor();
  watched.pardon = false;
  await picture("sign-in");
  await page.getByLabel("Password").fill(password);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.getByRole("heading", { name: "Tarnholt Pressings" }).waitFor();
});

await step("captures are dropped, several at once, with progress on each; a text is refused", async () => {
  await open("/bench");
  const [first, ...rest] = works.captures.map(({ file }) => file);
  const data = await page.evaluateHandle(
    ([name, bytes]) => {
      const transfer = new DataTransfer();
      transfer.items.add(
        new File([Uint8Array.from(atob(bytes), (one) => one.charCodeAt(0))], name, { type: "audio/wav" }),
      );
      return transfer;
    },
    [basename(first), readFileSync(first).toString("base64")],
  );
  // The first piece is lost on its way: the page asks how far the server is, and goes on from there.
  let lost = 0;
  watched.pardon = true;
  await page.route("**/api/uploads/*", (route) =>
    route.request().method() === "PATCH" && lost++ === 0 ? route.abort("connectionreset") : route.continue(),
  );
  await page.dispatchEvent(".drop", "drop", { dataTransfer: data });
  await page.getByLabel("Recordings").setInputFiles(rest);
  const brought = page.getByRole("list", { name: "Captures brought" }).locator("li");
  assert.equal(await brought.count(), works.captures.length);
  await page.locator("progress").first().waitFor();
  await picture("bench-progress");
  await page.waitForFunction(
    async (wanted) =>
      (await (await fetch("/api/jobs?limit=50")).json()).jobs.filter((job) => job.kind === "hear").length >= wanted,
    works.captures.length,
    { timeout: 30000, polling: 300 },
  );
  assert.ok(lost > 1, "the lost piece was sent again");
  await page.unroute("**/api/uploads/*");
  await page.getByLabel("Recordings").setInputFiles({
    name: `${works.captures[0].ticket}_B.wav`,
    mimeType: "audio/wav",
    buffer: Buffer.from("no recording at all"),
  });
  await page.locator(".jobs .error").first().waitFor();
  watched.pardon = false;
});

await step(
  "the server is killed in mid-analysis: the page says so, comes back, and every capture is heard",
  async () => {
    await page.waitForFunction(async () => (await (await fetch("/api/uploads")).json()).uploads.length <= 1, null, {
      timeout: 30000,
    });
    watched.pardon = true;
    await server.end("SIGKILL");
    await page.getByText("The server does not answer").first().waitFor();
    await picture("server-gone");
    await server.start(works.works, server.port);
    await page.getByText("The server does not answer").first().waitFor({ state: "detached", timeout: 20000 });
    watched.pardon = false;
    await page.waitForFunction(
      async (wanted) => {
        const { jobs } = await (await fetch("/api/jobs?limit=50")).json();
        return jobs.filter((job) => job.kind === "hear" && job.state === "done").length >= wanted;
      },
      works.captures.length,
      { timeout: 90000, polling: 500 },
    );
    const brought = page.getByRole("list", { name: "Captures brought" });
    await brought
      .getByText(/within limits|outside limits/)
      .nth(works.captures.length - 1)
      .waitFor();
    await picture("bench-home");
  },
);

await step("a heard side opens: verdict, reasons, portrait, all within a second", async () => {
  const { plays } = await ask(`/api/sides/${works.side}/plays?order=impression&limit=50`);
  assert.equal(plays.length, works.captures.length);
  const hurt = plays.find((play) => play.impression[0] === 120);
  report = hurt.report;
  await page.goto("about:blank");
  await page.goto(`${server.url}/bench/${report}`);
  await page.locator(".portrait canvas").first().waitFor();
  await page.waitForFunction(() => performance.getEntriesByName("portrait").length > 0);
  const first_ms = await page.evaluate(() => {
    const [entry] = performance.getEntriesByName("portrait");
    return entry.startTime + entry.duration;
  });
  console.log(`        first useful picture after ${first_ms.toFixed(0)} ms`);
  assert.ok(first_ms < 1000, `${first_ms} ms`);
  assert.match(await heading(), /limits/);
  const told = await ask(`/api/plays/${report}/portrait`);
  const near = told.faults.find((fault) => Math.abs(fault.programme_s - fault_s) < 0.02);
  assert.ok(near, "the fault that was pressed is found");
  await page.waitForTimeout(300);
  await picture("bench-light");
});

await step("the portrait shows the fault where it lies, disc and stamper mirrored", async () => {
  const told = await ask(`/api/plays/${report}/portrait`);
  const fault = told.faults.find((one) => Math.abs(one.programme_s - fault_s) < 0.02);
  // Where it lies by the look's own rule, written out anew: counter-clockwise from the top on a disc, mirrored on metal.
  const box = await page.locator(".portrait-above").boundingBox();
  const half = box.height / 2,
    reach = (fault.radius_m * (half - 34)) / told.shape.edge_radius_m,
    turned = (fault.angle_deg * Math.PI) / 180;
  const at = (way) => ({ x: box.width / 2 + way * reach * Math.sin(turned), y: half - reach * Math.cos(turned) });
  await page.locator(".portrait-above").click({ position: at(-1) });
  await page.getByRole("heading", { name: /at 0:07\.3/ }).waitFor();
  await page.getByLabel("Stamper", { exact: true }).check();
  await page.keyboard.press("Home");
  await page.locator(".portrait-above").click({ position: at(1) });
  await page.getByRole("heading", { name: /at 0:07\.3/ }).waitFor();
  await picture("bench-stamper");
  await page.getByLabel("Disc", { exact: true }).check();
});

/** Samples of a 16-bit WAV's first channel. */
const left_of = (bytes) => {
  const at = bytes.indexOf("data") + 8,
    samples = [];
  for (let i = at; i + 3 < bytes.length; i += 4) samples.push(bytes.readInt16LE(i) / 32768);
  return samples;
};

await step(
  "a fault is heard: the looped sound is the capture's own, sample by sample, and the difference holds the fault",
  async () => {
    await page.evaluate(() => (globalThis.played = []));
    await page.locator("h1").click();
    await page.keyboard.press("Space");
    await page.getByRole("button", { name: "Stop", exact: true }).waitFor();
    const played = await page.evaluate(() =>
      globalThis.played.map((one) => {
        const bytes = new Uint8Array(one.left.buffer);
        let text = "";
        for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
        return { ...one, left: btoa(text) };
      }),
    );
    for (const one of played) {
      const bytes = Buffer.from(one.left, "base64");
      one.left = new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
    }
    assert.equal(played.length, 3, "capture, cut and difference in step");
    const told = await ask(`/api/plays/${report}/portrait`);
    const fault = told.faults.find((one) => Math.abs(one.programme_s - fault_s) < 0.02);
    const from_s = Math.max(0, Math.min(fault.capture_s - 1, told.duration_s - 2));
    const levels = {};
    for (const [i, sound] of ["capture", "cut", "difference"].entries()) {
      const address = `/api/plays/${report}/audio?sound=${sound}&from_s=${from_s.toFixed(6)}&to_s=${(from_s + 2).toFixed(6)}`;
      const samples = left_of(await (await context.request.get(server.url + address)).body()),
        heard = played[i];
      assert.ok(heard.loop && heard.rate_Hz === 48000 && heard.channels === 2);
      assert.equal(heard.left.length, samples.length);
      const edge = 800;
      for (let j = edge; j < samples.length - edge; ++j)
        assert.ok(Math.abs(heard.left[j] - samples[j]) < 1 / 32768, `${sound}, sample ${j}`);
      assert.ok(Math.abs(heard.left[0]) < 1e-4, "a loop's end does not click");
      const peak = (from, to) => samples.slice(from, to).reduce((most, one) => Math.max(most, Math.abs(one)), 0);
      const middle = Math.round((fault.capture_s - from_s) * 48000);
      levels[sound] = { at: peak(middle - 480, middle + 960), before: peak(edge, middle - 4800) };
    }
    assert.ok(
      levels.difference.at > 8 * levels.difference.before,
      `the fault stands in the difference: ${JSON.stringify(levels)}`,
    );
    assert.ok(
      levels.difference.before < 0.2 * levels.capture.before,
      `the programme is gone from it: ${JSON.stringify(levels)}`,
    );
    await page.keyboard.press("3");
    assert.ok(await page.getByLabel("Difference", { exact: true }).isChecked());
    await page.keyboard.press("m");
    assert.equal(await page.getByLabel("Channels").inputValue(), "left");
    await page.keyboard.press("+");
    await page.getByText("Level −3").waitFor();
    await picture("bench-hearing");
    await page.keyboard.press("Space");
    await page.getByRole("button", { name: /^Hear this/ }).waitFor();
  },
);

await step("arrow keys go from fault to fault; the listener agrees, and a second browser sees it live", async () => {
  const second = watch(await context.newPage());
  await second.goto(`${server.url}/bench/${report}`);
  await second.getByText(/listeners agreed with 0/).waitFor();
  await page.keyboard.press("ArrowLeft");
  const before = await page.locator(".chosen-fault h2").innerText();
  await page.keyboard.press("ArrowRight");
  assert.notEqual(await page.locator(".chosen-fault h2").innerText(), before);
  await page.keyboard.press("a");
  await page.getByText(/^Agreed with/).waitFor();
  await page.getByText(/listeners agreed with 1/).waitFor();
  await second.getByText(/listeners agreed with 1/).waitFor();
  await page.keyboard.press("a"); // the same again takes it back
  await page.getByText("Taken back.").waitFor();
  await page.getByText(/listeners agreed with 0/).waitFor();
  await second.getByText(/listeners agreed with 0/).waitFor();
  await page.keyboard.press("a");
  await page.getByText(/listeners agreed with 1/).waitFor();
  await second.close();
});

await step("a fault is added by a key while the side plays, and what is tapped is kept", async () => {
  await page.keyboard.press("s");
  await page.getByRole("button", { name: "Stop the side" }).waitFor();
  await page.waitForTimeout(1200);
  await page.keyboard.press("t");
  await page.getByRole("heading", { name: "Tapped, not yet kept" }).waitFor();
  await page.keyboard.press("s");
  await picture("bench-tapped");
  await page.getByRole("button", { name: "Keep 1 tap" }).click();
  await page.getByText(/They added 1|agreed with 2/).waitFor();
  await page.getByText("Every word", { exact: true }).click();
  await picture("bench-words");
  const said = (await ask(`/api/plays/${report}/opinions`)).opinions.length;
  await page.getByRole("button", { name: /^Take back/ }).last().click();
  await page.getByText("Taken back.").waitFor();
  assert.equal((await ask(`/api/plays/${report}/opinions`)).opinions.length, said - 1);
});

await step("single keys can be turned off", async () => {
  await page.getByText("Keys", { exact: true }).click();
  await page.getByLabel("Single keys act").uncheck();
  const before = await page.locator(".chosen-fault h2").innerText();
  await page.locator("h1").click();
  await page.keyboard.press("ArrowLeft");
  assert.equal(await page.locator(".chosen-fault h2").innerText(), before);
  await page.getByLabel("Single keys act").check();
});

await step("units change to inches everywhere and back", async () => {
  await page.getByLabel("Units").selectOption("inch");
  await page
    .locator(".chosen-fault")
    .getByText(/\d\sin from the centre/)
    .waitFor();
  await page.getByLabel("Units").selectOption("metric");
  await page
    .locator(".chosen-fault")
    .getByText(/\d\smm from the centre/)
    .waitFor();
});

await step("the contact sheet by stamper; two discs are laid over one another", async () => {
  await open(`/side/${works.side}`);
  await page
    .locator(".sheet canvas")
    .nth(works.captures.length - 1)
    .waitFor();
  await picture("contact-sheet");
  const group = page.locator(".sheet-group").filter({ hasText: works.stampers[1] });
  await group.getByRole("checkbox").nth(0).check();
  await group.getByRole("checkbox").nth(1).check();
  await page.getByRole("button", { name: "Lay two over one another" }).click();
  await page.getByRole("heading", { name: /same place on both/ }).waitFor();
  await page.getByText("Filled dots").waitFor();
  assert.match(await heading(), /^[1-9]\d* faults? at/);
  await page.waitForTimeout(200);
  await picture("overlay");
});

await step("the trace names the stamper; the suspect range is held and let go again", async () => {
  await open(`/trace/${works.side}`);
  await page.waitForFunction(
    async (side) => (await (await fetch(`/api/sides/${side}/trace`)).json()).state === "current",
    works.side,
    { timeout: 30000, polling: 500 },
  );
  await page.getByText("Made from the record as it stands").waitFor();
  await page.getByRole("button", { name: /^Hold impressions/ }).waitFor();
  // Two discs of the first stamper are clean, three of the second are not: the stamper was hurt, or the mother before it grew.
  const { trace } = await ask(`/api/sides/${works.side}/trace`);
  const [worst] = trace.recurring;
  assert.ok(
    [works.stampers[1], works.mother].includes(worst.cause.id) || worst.cause.level === "mounting",
    JSON.stringify(worst.cause),
  );
  assert.ok((await heading()).includes(worst.cause.id), await heading());
  await page.getByRole("region", { name: "Why" }).getByText(works.stampers[1]).first().waitFor();
  await page.waitForTimeout(200);
  await picture("trace-light");
  await page.getByRole("button", { name: /^Hold impressions/ }).click();
  await page.getByText(/discs? held/).waitFor();
  const held = (await ask(`/api/runs/${works.production}`)).holds.length;
  assert.ok(held >= 1);
  await page.getByRole("region", { name: "Held now" }).waitFor();
  await picture("trace-held");
  await page.getByRole("button", { name: "Take back the hold" }).click();
  await page.getByRole("button", { name: /^Hold impressions/ }).waitFor();
  assert.equal((await ask(`/api/runs/${works.production}`)).holds.length, held - 1);
});

await step("a stretch of a run is held and let go again", async () => {
  await open(`/run/${works.production}`);
  const before = await ask(`/api/runs/${works.production}`);
  await page.getByLabel("First impression").fill("150");
  await page.getByLabel("Last").fill("160");
  await page.getByLabel("Why").fill("a scratch seen");
  await page.getByRole("button", { name: "Hold impressions 150–160" }).click();
  await page.getByText(/discs? held, entry/).waitFor();
  const held = await ask(`/api/runs/${works.production}`);
  // Impression 150 is a sample and stays one.
  assert.equal(held.counts.suspect - before.counts.suspect, 10);
  await picture("run-held");
  await page.getByRole("button", { name: /^Take back hold/ }).click();
  await page.getByRole("button", { name: /^Take back hold/ }).waitFor({ state: "detached" });
  assert.deepEqual((await ask(`/api/runs/${works.production}`)).counts, before.counts);
});

await step("the bench says of a fault that it recurs, and leads to its trace", async () => {
  await open(`/bench/${report}`);
  await page.getByText(/Recurs on 3 of 5 discs/).waitFor();
  await page.getByRole("link", { name: "Trace it" }).click();
  await page.getByRole("heading", { name: /side A/, level: 1 }).waitFor();
});

await step("any number is found, by key, and its page opens", async () => {
  await page.getByRole("combobox", { name: /Any number/ }).fill(works.stampers[0]);
  await page.getByRole("option").first().waitFor();
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("Enter");
  await page.getByRole("heading", { name: works.stampers[0], level: 1 }).waitFor();
  await picture("part");
  for (const [path, name] of [
    [`/title/${works.title}`, "title"],
    [`/run/${works.production}`, "run"],
    [`/disc/${works.production}/120`, "disc"],
    [`/order/${works.order}`, "order"],
    ["/accounts", "accounts"],
  ]) {
    await open(path);
    await page.waitForTimeout(150);
    await picture(name);
  }
});

await step("the portrait is saved for paper as the program draws it", async () => {
  await open(`/bench/${report}`);
  await page.getByText("Turn it, shrinkage, save").click();
  const [saved] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("link", { name: "portrait as SVG" }).click(),
  ]);
  assert.equal(saved.suggestedFilename(), `${report}-disc.svg`);
  assert.match(readFileSync(await saved.path(), "utf8"), /^<\?xml[^>]*>\s*<svg/);
  const [strip] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("link", { name: "strip as PNG" }).click(),
  ]);
  writeFileSync(join(pictures, "saved-strip.png"), readFileSync(await strip.path()));
  assert.equal(strip.suggestedFilename(), `${report}-strip.png`);
});

await step("a table is copied as CSV", async () => {
  await open(`/bench/${report}`);
  await page.getByRole("region", { name: "Faults", exact: true }).getByRole("button", { name: "Copy as CSV" }).click();
  await page.getByText("Copied.").waitFor();
  const copied = await page.evaluate(() => navigator.clipboard.readText());
  assert.match(copied.split("\r\n")[0], /^no\.,time,kind,/);
  assert.ok(copied.split("\r\n").length > 1);
});

await step("an account that may only look is made, and looks: it judges nothing and holds nothing", async () => {
  await open("/accounts");
  const form = page.locator("form").filter({ hasText: "Roles" });
  await form.getByLabel("Name").fill("visitor");
  await form.getByLabel(/^Password/).fill(password);
  await form.getByRole("checkbox", { name: /listener/ }).uncheck();
  await form.getByRole("checkbox", { name: /viewer/ }).check();
  await form.getByRole("button", { name: "Make the account" }).click();
  await page.getByText("visitor has an account.").waitFor();
  const apart = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  const visitor = watch(await apart.newPage());
  await visitor.goto(`${server.url}/bench/${report}`);
  await visitor.getByLabel("Name").fill("visitor");
  await visitor.getByLabel("Password").fill(password);
  await visitor.getByRole("button", { name: "Sign in" }).click();
  await visitor.getByRole("button", { name: "Agree", exact: true }).waitFor();
  assert.ok(await visitor.getByRole("button", { name: "Agree", exact: true }).isDisabled());
  await visitor.goto(`${server.url}/trace/${works.side}`);
  await visitor.getByRole("button", { name: /^Hold impressions/ }).waitFor();
  assert.ok(await visitor.getByRole("button", { name: /^Hold impressions/ }).isDisabled());
  await apart.close();
});

await step("the bench records: the ticket is scanned, the stylus lowered, the rest goes by itself", async () => {
  const { ticket, file } = await works.one_more(95);
  await open("/bench");
  const panel = page.getByRole("region", { name: "Record at the bench" });
  await panel.getByLabel("Input").selectOption({ label: "Bench A, phono input (bench)" });
  await panel.getByLabel("Ticket to record").fill(ticket.toLowerCase());
  await page.keyboard.press("Enter"); // as a scanner sends it
  await panel.getByText("Lower the stylus on side A of The Ferryman").waitFor();
  await picture("record-waiting");
  sound_bench.play(file);
  await panel.getByText(/^Recording side A of The Ferryman: 0:0[3-9]/).waitFor();
  const level_dB = Number(await panel.getByRole("meter").first().getAttribute("aria-valuenow"));
  assert.ok(level_dB > -55 && level_dB < 0, `the meter shows ${level_dB} dB`);
  await picture("record-level");
  await page.evaluate(axe);
  const seen = await page.evaluate(() => globalThis.axe.run(".record"));
  assert.deepEqual(
    seen.violations.map((one) => one.id),
    [],
  );
  const sides = panel.getByRole("list", { name: "Sides recorded" });
  await sides.getByText(/the stylus was lifted/).waitFor({ timeout: 30000 });
  await sides.getByText(/within limits|outside limits/).waitFor({ timeout: 60000 });
  await picture("record-sent");
  const told = await ask(`/api/sides/${works.side}/plays?order=newest&limit=1`);
  assert.deepEqual(told.plays[0].impression, [95, 95]);
});

const views = () => [
  "/",
  "/bench",
  `/bench/${report}`,
  `/trace/${works.side}`,
  `/side/${works.side}`,
  `/title/${works.title}`,
  `/run/${works.production}`,
  `/disc/${works.production}/120`,
  `/part/${works.stampers[1]}`,
  `/order/${works.order}`,
  `/thing/${works.production}`,
  "/accounts",
];

await step("WCAG 2.2 AA: axe finds nothing in any view, by day and by night", async () => {
  const found = [];
  for (const colorScheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme });
    // At night only the colours differ: the views that hold them all.
    for (const view of colorScheme === "light" ? views() : views().slice(0, 5)) {
      await open(view);
      await page.waitForTimeout(150);
      await page.evaluate(() => document.querySelectorAll("details").forEach((one) => (one.open = true)));
      // By the debugger, not a script element: the page's own policy forbids those.
      await page.evaluate(axe);
      const rules =
        colorScheme === "light"
          ? ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
          : { type: "rule", values: ["color-contrast"] };
      const result = await page.evaluate((only) => globalThis.axe.run(document, { runOnly: only }), rules);
      assert.ok(result.passes.length > (colorScheme === "light" ? 15 : 0), `${view} was not looked at`);
      for (const one of result.violations)
        found.push(`${colorScheme} ${view}: ${one.id}: ${one.nodes.map((node) => node.html).slice(0, 2)}`);
    }
    if (colorScheme === "dark") {
      await open(`/bench/${report}`);
      await page.waitForTimeout(300);
      await picture("bench-dark");
    }
  }
  await page.emulateMedia({ colorScheme: "light" });
  assert.deepEqual(found, []);
});

await step("nothing runs out of the page from 360 px to 4K, and the keyboard reaches the first act", async () => {
  for (const [width, height] of [
    [360, 740],
    [820, 1180],
    [3840, 2160],
  ]) {
    await page.setViewportSize({ width, height });
    for (const view of [`/bench/${report}`, `/trace/${works.side}`, "/bench", "/", `/run/${works.production}`]) {
      await open(view);
      await page.waitForTimeout(150);
      const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(over <= 0, `${view} at ${width}: ${over} px`);
      if (view.endsWith(report)) await picture(`bench-${width}`);
    }
  }
  await page.setViewportSize({ width: 1440, height: 900 });
  await open(`/bench/${report}`);
  let reached = false;
  for (let i = 0; i < 60 && !reached; ++i) {
    await page.keyboard.press("Tab");
    reached = await page.evaluate(() => /^Hear this/.test(document.activeElement?.textContent ?? ""));
  }
  assert.ok(reached, "Tab reaches the button that plays");
});

await step("the portrait of a 20-minute side is drawn in less than 300 ms", async () => {
  await page.route(`**/api/plays/${report}/portrait`, (route) => route.fulfill({ json: long_side(report) }));
  await open(`/bench/${report}`);
  await page.waitForFunction(() => performance.getEntriesByName("portrait").length > 0);
  await page.waitForTimeout(300);
  const times = await page.evaluate(() => performance.getEntriesByName("portrait").map((entry) => entry.duration));
  console.log(`        portrait ${times.map((one) => one.toFixed(0)).join(", ")} ms`);
  await picture("bench-long-side");
  assert.ok(Math.max(...times) < 300, String(times));
  await page.unroute(`**/api/plays/${report}/portrait`);
});

await step("the page broke none of the server's policies and asked nobody else", async () =>
  assert.deepEqual(watched.troubles, []),
);

await browser.close();
await server.end();
await sound_bench.end();
writeFileSync(join(out, "server.txt"), server.said);
process.exit(steps.end(pictures));
