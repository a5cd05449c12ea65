// The walk of docs/tour.md through the demo works, step by step, with its pictures.
//   tour.mjs PROGRAM PAGES OUT [PICTURES]
// The works is made in OUT where it is not there. PICTURES: a folder that takes the tour's pictures, such as docs/pictures.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { cpSync, existsSync, mkdirSync, rmSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";
import { Server, Steps, Watch } from "./harness.mjs";

const [program, pages, out, kept] = process.argv.slice(2);
const root = join(dirname(fileURLToPath(import.meta.url)), "..", "..", "..");
const pictures = kept ?? join(out, "pictures");
mkdirSync(pictures, { recursive: true });
const made = join(out, "tarnholt-as-made"),
  works = join(out, "tarnholt");
if (!existsSync(join(made, "record.db")))
  execFileSync(join(root, "demo", "make_works"), [program, made, join(out, "no-demo-yet")], { stdio: "inherit" });
rmSync(works, { recursive: true, force: true });
cpSync(made, works, { recursive: true });

const server = new Server(program, pages);
const watched = new Watch(server);
const steps = new Steps(async (failed) => {
  await page.screenshot({ path: join(out, `failed-${failed}.png`), fullPage: true }).catch(() => {});
});
const step = (name, act) => steps.step(name, act);
await server.start(works);
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox"],
});
const context = await browser.newContext({ viewport: { width: 1120, height: 760 } });
context.setDefaultTimeout(15000);
const page = watched.page(await context.newPage());
const picture = async (name) => {
  await page.waitForTimeout(300);
  await page.screenshot({ path: join(pictures, `tour-${name}.png`) });
};
const link = (name) => page.getByRole("link", { name, exact: typeof name === "string" });
const button = (name) => page.getByRole("button", { name, exact: typeof name === "string" });
const line = (station) => page.getByRole("navigation", { name: "The line" }).getByRole("link", { name: station });
const said = (words) => page.getByRole("status").getByText(words).first().waitFor();
const ask = (path) => page.evaluate(async (asked) => (await fetch(asked)).json(), path);

await step("1: the link of the start makes the first account; the line shows what waits", async () => {
  await page.goto(await server.hears(/(http:\S+#first=\S+)/));
  await page.getByLabel("Name").fill("foreman");
  await page.getByLabel(/^Password/).fill("a long enough word");
  await button("Make the first account").click();
  await page.getByRole("heading", { name: "Tarnholt", exact: true }).waitFor();
  await picture("line");
});

await step("2: an order, found by a word: what is pressed, inspected, packed, shipped, owed", async () => {
  await page.getByRole("combobox", { name: /Any number/ }).fill("Quay Records");
  await page.getByRole("option").first().waitFor();
  await page.keyboard.press("Enter");
  await page.getByRole("heading", { name: "What is owed" }).waitFor();
  await page.getByText("275 discs owed of 300 ordered").waitFor();
  await picture("order");
});

await step("3: the trace names the stamper that was hurt in mid-run, and one button holds its discs", async () => {
  await link("Reels from the Quay").first().click();
  await link("Open the trace of side A").click();
  await button(/^Hold impressions/).waitFor({ timeout: 60000 });
  await page.getByRole("heading", { name: /0:17, side A/, level: 1 }).waitFor();
  await picture("trace");
  await button(/^Hold impressions/).click();
  await page.getByText(/discs? held/).waitFor();
});

await step("4: the family of its metal", async () => {
  await line(/^Metal/).click();
  await page.getByRole("region", { name: "Families" }).getByRole("link", { name: /Reels from the Quay/ }).click();
  await page.getByRole("list").getByText("on press").first().waitFor();
  await page.getByRole("heading", { name: "Side A" }).evaluate((one) => one.scrollIntoView());
  await picture("family");
});

await step("5: at the press the counter is typed, a disc is pulled, its ticket printed", async () => {
  await line(/^Press/).click();
  await page.getByRole("list", { name: "Presses" }).getByRole("button", { name: /Press 2/ }).click();
  await page.getByRole("textbox", { name: "The counter reads now" }).fill("5265");
  await button("Enter counter 5265").click();
  await said("40 discs entered: impressions 121 to 160");
  await button("Pull the disc just pressed").click();
  await said(/for disc 160/);
  await link(/^Print ticket/).waitFor();
  await page.getByRole("region", { name: "Press 2" }).evaluate((one) => one.scrollIntoView());
  await picture("press");
});

await step("6: the inspection table", async () => {
  await line(/^Store/).click();
  const stacks = page.getByRole("list", { name: "Stacks" }).getByRole("button");
  await stacks.first().waitFor();
  const { stacks: there } = await ask("/api/inspection");
  await stacks.nth(there.indexOf(there.reduce((most, one) => (one.discs > most.discs ? one : most)))).click();
  const keys = page.getByRole("group", { name: "Take one off, because of" });
  await keys.getByRole("button", { name: /Warp/ }).click();
  await said("Warp: one to scrap");
  await keys.getByRole("button", { name: /Label off/ }).click();
  await said("Label off: one to scrap");
  await button(/^Take the last back: label off/).click();
  await said(/is taken back/);
  await picture("inspect");
});

await step("7: a carton is packed and shipped by scanner", async () => {
  await line(/^Dispatch/).click();
  await page.getByRole("list", { name: "Open orders" }).getByRole("link", { name: /Reels from the Quay/ }).click();
  await page.getByRole("heading", { name: "25 of 300 discs shipped" }).waitFor();
  const packing = `/api/orders/${new URL(page.url()).pathname.split("/")[2]}/packing`;
  await page.getByLabel("Discs to a carton").fill("25");
  await button(/^Fill from 25 good discs$/).click();
  await said("25 discs in 1 carton");
  await page.locator("h1").click(); // beside everything: the scanner's field has the focus again
  const scan = async (text) => {
    await page.waitForFunction(() => document.activeElement?.id === "scan");
    await page.keyboard.type(text);
    await page.keyboard.press("Enter");
  };
  const carton = (await ask(packing)).cartons.find((one) => one.state === "open").code;
  await scan(carton);
  await page.getByText("is in hand").waitFor();
  await scan("25");
  await said(`${carton} is closed with 25 discs`);
  await button("Begin a shipment").click();
  await page.locator("h1").click();
  await scan(carton);
  await page.getByText("is being loaded").getByText(carton).or(page.locator(".in-hand").getByText(carton)).first().waitFor();
  await picture("pack");
  await button("Ship 1 unit").click();
  await page.getByRole("heading", { name: "50 of 300 discs shipped" }).waitFor();
});

await step("8: the ledger closes", async () => {
  await line(/^Store/).click();
  await page.getByRole("navigation", { name: "Views of store" }).getByRole("link", { name: "Ledger" }).click();
  await page.getByRole("heading", { name: "The count closes" }).waitFor();
  await button("Check the record").click();
  await page.getByText("The record is what its log says").waitFor();
  await picture("ledger");
});

await step("the page broke none of the server's policies and asked nobody else", async () =>
  assert.deepEqual(watched.troubles, []),
);

await browser.close();
await server.end();
process.exit(steps.end(pictures));
