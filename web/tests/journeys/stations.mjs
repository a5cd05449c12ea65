// Journeys of those who stand at the stations: what is calculated, compared, entered and taken back, in a real Chromium
// against the program itself. Each figure that is read on the page is also asked of the command.
//   stations.mjs PROGRAM PAGES OUT
// Pictures of every view, at 360 px, 1280 px and 4K, are kept in OUT/pictures. The browser is CHROMIUM, or the distribution's.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { cpSync, mkdirSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";
import { Server, Steps, Watch } from "./harness.mjs";

const [program, pages, out] = process.argv.slice(2);
const pictures = join(out, "pictures"),
  works = join(out, "works"),
  demo = fileURLToPath(new URL("../../../demo", import.meta.url));
rmSync(out, { recursive: true, force: true });
mkdirSync(pictures, { recursive: true });
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const password = "a long enough word";

const run = (...words) => {
  try {
    return execFileSync(program, words, { encoding: "utf8", stdio: ["ignore", "pipe", "pipe"] });
  } catch (ended) {
    if (ended.status === 1) return ended.stdout;
    throw new Error(`${words.join(" ")}: ${ended.stderr}`);
  }
};
const answer_of = (...words) => JSON.parse(run(...words, "--json", "-"));
const add = (...words) => answer_of("works", ...words, "--in", works, "--by", "Una").code;

run("works", "init", works, "--name", "Tarnholt", "--zone", "Europe/London", "--by", "Una");
for (const [folder, file] of [
  ["recipes", "compound/shellac.toml"],
  ["plans", "plan/works.toml"],
]) {
  mkdirSync(join(works, folder));
  cpSync(join(demo, file), join(works, folder, file.slice(file.indexOf("/") + 1)));
}
const title = add("add", "title", "name=Reels from the Quay");
const side = add("add", "side", `title=${title}`, "letter=A", "format=12in-33");
const lacquer = add("add", "part", "kind=lacquer", `cut=${add("add", "cut", `side=${side}`, "pitch=0.1mm")}`);
add("log", lacquer, "silvered");
const father = add("add", "part", "kind=father", `parent=${lacquer}`);

const server = new Server(program, pages);
await server.start(works);
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox"],
});
const watch = new Watch(server);
const context_of = async () => {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  context.setDefaultTimeout(15000);
  return watch.page(await context.newPage());
};
const page = await context_of();
const steps = new Steps((failed) =>
  page.screenshot({ path: join(pictures, `failed-${failed}.png`), fullPage: true }).catch(() => {}),
);
const step = (name, act) => steps.step(name, act);
const picture = (name, of = page) => of.screenshot({ path: join(pictures, `${name}.png`), fullPage: true });
const open = async (path, of = page) => {
  await of.goto(server.url + path);
  await of.locator("main h1").waitFor();
};
const head = (of = page) => of.locator(".answer-head");
const figure = async (name) =>
  (
    await page.locator(".answer dl.figures .figure-row", { hasText: name }).first().locator("dd").innerText()
  ).replaceAll("\u2009", " ");
/** Presses and waits until that very request is answered. */
const calculate = async (button, of = page) => {
  const answered = of.waitForResponse((one) => /\/api\/calculations\/[a-z-]+$/.test(new URL(one.url()).pathname), {
    timeout: 60000,
  });
  await of.getByRole("button", { name: button, exact: true }).click();
  const status = (await answered).status();
  await of.waitForFunction(() => !document.querySelector(".calculation-form .main:disabled"));
  return status;
};

await step("the stations and their views are one step apart, along the flow and back", async () => {
  await page.goto(await server.hears(/(http:\S+#first=\S+)/));
  await page.getByLabel("Name").fill("foreman");
  await page.getByLabel(/^Password/).fill(password);
  await page.getByRole("button", { name: "Make the first account" }).click();
  const row = page.locator("nav.station-views");
  await row.getByRole("link", { name: "Plan and promise" }).waitFor();
  const walked = [];
  for (const [way, steps] of [
    ["next", 6],
    ["prev", 6],
  ])
    for (let i = 0; i < steps; ++i) {
      await row.locator(`a[rel=${way}]`).click();
      await page.waitForFunction((before) => location.pathname !== before, walked.at(-1) ?? "/");
      walked.push(new URL(page.url()).pathname);
    }
  assert.deepEqual(walked, [
    "/station/metal",
    "/station/compound",
    "/station/press",
    "/bench",
    "/station/store",
    "/station/dispatch",
    "/station/store",
    "/bench",
    "/station/press",
    "/station/compound",
    "/station/metal",
    "/",
  ]);
  await page.locator("nav.station-views + *").waitFor();
  await page.getByRole("link", { name: "Metal", exact: false }).first().click();
  await row.getByRole("link", { name: "Plate" }).click();
  await page.getByRole("heading", { name: "Plate", exact: true }).waitFor();
});

await step("a plating run: at once an answer, the command's figures, the caution beside it", async () => {
  await head().waitFor();
  const own = answer_of("plate", "--target", "250 um", "--start", "silvered");
  assert.equal(await figure("Time"), `${(own.time_s / 3600).toFixed(2)} h`);
  assert.equal(await figure("Metal laid"), `${(own.mass_kg * 1e3).toFixed(1)} g`);
  assert.match(await page.locator(".caution").innerText(), /carcinogen.*local code/s);
  await page.getByLabel("Units").selectOption("inch");
  assert.equal(await figure("Mean thickness"), `${(own.mean_thickness_m / 25.4e-6).toFixed(2)} thou`);
  await page.getByLabel("Units").selectOption("metric");
});

await step(
  "another thickness by the keyboard, beside the answer that was kept; what cannot be is told at its field",
  async () => {
    await page.getByRole("button", { name: "Keep this answer to compare" }).click();
    const field = page.getByLabel("Thickness wanted", { exact: true });
    await field.fill("400");
    await page.getByLabel("Calculate how evenly it lies").check();
    await field.focus();
    await page.keyboard.press("Enter");
    await page.locator(".beside-table tr.moved").first().waitFor();
    const row = page.locator(".beside-table tr", { hasText: "Mean thickness" });
    assert.match(await row.innerText(), /250\.0\s*µm/);
    assert.equal(await row.getAttribute("class"), "moved");
    await page.getByRole("heading", { name: "Thickness along the radius" }).waitFor();
    await page.locator(".answer-picture img").first().waitFor();
    const drawn = await page.locator(".answer-picture img").evaluateAll((all) => all.map((one) => one.naturalWidth));
    assert.ok(drawn.length === 3 && drawn.every((width) => width > 400), String(drawn));
    await picture("plate-beside");
    watch.pardon = true;
    await field.fill("four hundred");
    assert.equal(await calculate("Calculate the run"), 422);
    watch.pardon = false;
    assert.match(await page.locator(".calculation-form .problem").innerText(), /^“Thickness wanted”: .*fourhundred/);
    assert.equal(await field.getAttribute("aria-invalid"), "true");
    await page.getByRole("button", { name: "Let go of the kept answer" }).click();
    await page.getByLabel("Calculate how evenly it lies").uncheck();
    await field.fill("400");
    assert.equal(await calculate("Calculate the run"), 200);
  },
);

await step("the run is logged to the part by its author; a viewer may calculate, not log", async () => {
  const log = page.getByRole("form", { name: "Log this run to the part" });
  await log.getByLabel("Part").fill(father);
  await log.getByRole("button", { name: "Log this run to the part" }).click();
  await log.getByText(/Entered in the record as entry \d+, by foreman/).waitFor();
  await picture("plate-logged");
  const [last] = answer_of("works", "events", "--count", "1", "--in", works);
  assert.equal(last.who, "foreman");
  assert.ok(JSON.stringify(answer_of("works", "show", father, "--in", works)).includes("grown"));
  assert.ok(await log.getByRole("button", { name: "Log this run to the part" }).isDisabled());
  await log.getByRole("button", { name: `Take entry ${last.seq} back` }).click();
  await log.getByText(new RegExp(`Entry ${last.seq} is taken back by entry`)).waitFor();
  assert.equal(answer_of("works", "events", "--count", "1", "--in", works)[0].reverses, last.seq);
  await log.getByRole("button", { name: "Log this run to the part" }).click();
  await log.getByText(/Entered in the record as entry \d+, by foreman/).waitFor();
  await page.evaluate(
    async ([secret]) => {
      const { csrf } = await (await fetch("/api/session")).json();
      await fetch("/api/accounts", {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-CSRF-Token": csrf },
        body: JSON.stringify({ name: "guest", password: secret, roles: ["viewer"] }),
      });
    },
    [password],
  );
  const guest = await context_of();
  await guest.goto(server.url);
  await guest.getByLabel("Name").fill("guest");
  await guest.getByLabel("Password").fill(password);
  await guest.getByRole("button", { name: "Sign in" }).click();
  await guest.locator("nav.station-views").waitFor();
  await open("/calculate/plate", guest);
  await head(guest).waitFor();
  await guest.getByText("takes the role of station or engineer").waitFor();
  assert.equal(await guest.getByRole("button", { name: "Log this run to the part" }).count(), 0);
  await guest.context().close();
});

await step("a part's sheet leads to its calculation, which takes face and format from the record", async () => {
  await open(`/part/${father}`);
  await page.getByRole("link", { name: "Plating run" }).click();
  await page.getByRole("heading", { name: "Plate", exact: true }).waitFor();
  assert.equal(await page.getByLabel("Part", { exact: true }).first().inputValue(), father);
  assert.equal(await page.getByLabel("The face is").count(), 0);
  await head().waitFor();
  const own = answer_of("plate", "--target", "250 um", "--metal", "nickel", "--part", father, "--in", works);
  assert.equal(await figure("Time"), `${(own.time_s / 3600).toFixed(2)} h`);
});

await step("a plate is centred by readings at the microscope, and by a photograph that is dropped", async () => {
  await open("/calculate/centre");
  const readings = { 0: 38, 60: 88, 120: 52, 180: -43, 240: -93, 300: -58 };
  for (const [i, position] of Object.values(readings).entries())
    await page.getByLabel(`The groove's place, Position, row ${i + 1}`).fill(String(position));
  assert.equal(await calculate("Calculate the move"), 200);
  const own = answer_of("centre", ...Object.entries(readings).map(([angle, position]) => `${angle}=${position}um`));
  assert.match(await figure("Offset"), new RegExp(`^${(own.length_m * 1e6).toFixed(1)} µm towards 65°`));
  await picture("centre-readings");
  await page.getByLabel("A photograph").check();
  // A plate drawn here: 4.4 px/mm, hole 7.24 mm, locked groove 106.4 mm and outermost 292.6 mm, 0.12 mm off to the right.
  const photo = await page.evaluateHandle(async () => {
    const scale = 4.4,
      size = 1400,
      canvas = document.createElement("canvas");
    canvas.width = canvas.height = size;
    const pen = canvas.getContext("2d");
    const round = (diameter_mm, x_mm, fill) => {
      pen.beginPath();
      pen.arc(size / 2 + x_mm * scale, size / 2, (diameter_mm / 2) * scale, 0, 2 * Math.PI);
      pen.fillStyle = fill;
      pen.fill();
    };
    pen.fillStyle = "#3c3c3c";
    pen.fillRect(0, 0, size, size);
    round(301, 0, "#969696");
    round(292.6, 0.12, "#787878");
    round(120.6, 0.12, "#969696");
    pen.lineWidth = 0.35 * scale;
    pen.strokeStyle = "#5a5a5a";
    pen.beginPath();
    pen.arc(size / 2 + 0.12 * scale, size / 2, 53.2 * scale, 0, 2 * Math.PI);
    pen.stroke();
    round(7.24, 0, "#3c3c3c");
    const bytes = await new Promise((done) => canvas.toBlob(done, "image/png"));
    const transfer = new DataTransfer();
    transfer.items.add(new File([bytes], "plate.png", { type: "image/png" }));
    return transfer;
  });
  await page.dispatchEvent(".given", "drop", { dataTransfer: photo });
  await page.getByText("plate.png is there.").waitFor();
  assert.equal(await calculate("Find hole and groove"), 200);
  const [, found_um] = /^([\d.]+) µm towards/.exec(await figure("Offset")) ?? [];
  assert.ok(Math.abs(Number(found_um) - 120) < 25, found_um); // a tenth of a pixel is 23 µm
  await picture("centre-photograph");
});

await step(
  "a batch is weighed up, the scale says too much, the correction is the command's; what was weighed is logged",
  async () => {
    await open("/calculate/mix");
    await head().waitFor();
    await page.getByLabel("One charge, dry", { exact: true }).fill("60");
    assert.equal(await calculate("Calculate the weigh-up"), 200);
    await page.getByLabel("The scale said for shellac, kg").fill("8,35");
    assert.equal(await calculate("Check the weighing"), 200);
    const own = answer_of("mix", join(demo, "compound/shellac.toml"), "--mass", "60 kg", "--said", "shellac=8.35 kg");
    assert.equal(await figure("To put it right, add"), `${own.correction.add_kg.toFixed(3)} kg`);
    assert.match(await page.locator(".caution").innerText(), /dust/);
    await picture("mix-correction");
    await page.getByRole("button", { name: "Log what was weighed" }).click();
    await page.getByText(/Entered in the record as entry/).waitFor();
    assert.equal(answer_of("works", "show", "batch", "--in", works).length, 1);
  },
);

await step("a press cycle: the shortest, and the map of what works; it becomes a recipe", async () => {
  await open("/calculate/cycle");
  await head().waitFor();
  await page.getByLabel("Map what works").selectOption("steam,water_time");
  await page.locator("summary", { hasText: "Search" }).click();
  await page.getByLabel("Points of the map, each way").fill("3");
  await page.getByLabel("Water stays on", { exact: true }).fill("14");
  assert.equal(await calculate("Calculate the cycle"), 200);
  await page.getByRole("heading", { name: "Where the cycle works" }).waitFor();
  const own = answer_of("cycle", "--set", "water_time=14 s");
  assert.equal(await figure("Discs an hour"), own.result.discs_per_hour.toFixed(0));
  await page.getByLabel("Name of the recipe").fill("Long water");
  await page.getByRole("button", { name: "Log this cycle as a recipe" }).click();
  await page.getByText(/Entered in the record as entry/).waitFor();
  assert.equal(answer_of("works", "show", "recipe", "--in", works)[0].name, "Long water");
  await picture("cycle-map");
});

await step("sampling and charts: is it enough, the tables, a chart of a table that is given", async () => {
  await open("/calculate/sampling?question=1");
  await page.getByRole("heading", { name: /Hear 18 more/ }).waitFor();
  await page.getByLabel("Heard so far", { exact: true }).fill("38");
  assert.equal(await calculate("Is it enough?"), 200);
  assert.match(await head().innerText(), /Ship/);
  await page.getByLabel("ISO 2859-1").check();
  await page.getByRole("heading", { name: /Hear 50 discs: ship at 1 flawed/ }).waitFor();
  await open("/calculate/chart?question=1");
  await page.getByLabel("Table, a file").setInputFiles(join(demo, "compound/biscuits.csv"));
  await page.getByText("biscuits.csv is there.").waitFor();
  await page.getByLabel("Column of values").fill("mass_g");
  assert.equal(await calculate("Draw the chart"), 200);
  await page.getByRole("img", { name: /^The chart/ }).waitFor();
  await picture("chart-table");
});

await step(
  "the plan on its axis; what if the presses work one shift, beside the plan as it is; the date to promise",
  async () => {
    // No order is in this record, and nothing tells its stations: it says so.
    watch.pardon = true;
    await open("/calculate/plan");
    await page.getByText(/shop\.toml: is not there/i).waitFor();
    await page.getByLabel("Plan", { exact: true }).selectOption({ label: "works.toml" });
    assert.equal(await calculate("Plan"), 200);
    await head().waitFor();
    watch.pardon = false;
    await page.getByRole("button", { name: "Keep this answer to compare" }).click();
    await page.getByRole("button", { name: /^Add hours/ }).click();
    await page.getByLabel("What if they worked, Who, row 1").fill("press");
    await page.getByLabel("What if they worked, Shifts, row 1").fill("mon-fri 06:00-14:00");
    await page.getByRole("button", { name: /^Add a machine/ }).click();
    await page.getByLabel("What if there were more, Of, row 1").fill("tank");
    await page.getByLabel("What if there were more, More, row 1").fill("1");
    assert.equal(await calculate("Plan"), 200);
    const own = answer_of(
      "plan",
      "schedule",
      "--shop",
      join(demo, "plan/works.toml"),
      "--more",
      "tank=1",
      "--hours",
      "press=mon-fri 06:00-14:00",
    );
    const done = new Date((own.now_s + own.plan.end_s) * 1000).toISOString().slice(0, 16).replace("T", " ");
    assert.match(
      await page.locator(".beside-table tr", { hasText: "All done" }).innerText(),
      new RegExp(`${done}\\s+\\(moved\\)$`),
    );
    await picture("plan-what-if");
    await page.getByLabel("The date to promise").check();
    await page.getByRole("heading", { name: /every order on time in/i }).waitFor();
    await picture("promise");
  },
);

const views = [
  "/calculate/plate",
  "/calculate/back",
  "/calculate/centre",
  "/calculate/mix",
  "/calculate/biscuit",
  "/calculate/cycle",
  "/calculate/sampling?question=1",
  "/calculate/chart",
  "/calculate/plan",
  "/calculate/need?question=1",
];
const settled = async () => {
  await page.waitForFunction(
    () =>
      !/Calculating …/.test(document.querySelector("main")?.textContent ?? "") &&
      !document.querySelector(".calculation-form .main:disabled"),
    null,
    { timeout: 30000 },
  );
  await page.waitForTimeout(60);
};

await step(
  "WCAG 2.2 AA: axe finds nothing in any view, by day and by night, from 360 px to 4K nothing runs out",
  async () => {
    const found = [];
    for (const view of views) {
      await page.emulateMedia({ colorScheme: "light" });
      await page.setViewportSize({ width: 1280, height: 900 });
      await open(view);
      await settled();
      const name = view.slice(11).replace(/\?.*/, "");
      await picture(`${name}-1280`);
      // What each group holds is looked at, too.
      await page.evaluate(() => document.querySelectorAll("details").forEach((one) => (one.open = true)));
      await page.evaluate(axe);
      const rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
      const by_day = await page.evaluate((only) => globalThis.axe.run(document, { runOnly: only }), rules);
      assert.ok(by_day.passes.length > 15, `${view} was not looked at`);
      await page.emulateMedia({ colorScheme: "dark" });
      const by_night = await page.evaluate(() =>
        globalThis.axe.run(document, { runOnly: { type: "rule", values: ["color-contrast"] } }),
      );
      for (const one of [...by_day.violations, ...by_night.violations])
        found.push(`${view}: ${one.id}: ${one.nodes.map((node) => node.html).slice(0, 2)}`);
      for (const [width, height] of [
        [360, 740],
        [3840, 2160],
      ]) {
        await page.setViewportSize({ width, height });
        await page.waitForTimeout(100);
        const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        if (over > 0) found.push(`${view} at ${width}: ${over} px too wide`);
        await page.evaluate(() => document.querySelectorAll("details").forEach((one) => (one.open = false)));
        await page.screenshot({ path: join(pictures, `${name}-${width}.png`), fullPage: width === 360 });
      }
    }
    assert.deepEqual(found, []);
  },
);

// Nothing is heard in this record yet, and no order is entered: refusals that the browser notes in its own time.
const meant = /\/calculate\/(chart|plan): .*422/;
await step("the page broke none of the server's policies and asked nobody else", async () =>
  assert.deepEqual(
    watch.troubles.filter((one) => !meant.test(one)),
    [],
  ),
);

await browser.close();
await server.end();
process.exit(steps.end(pictures));
