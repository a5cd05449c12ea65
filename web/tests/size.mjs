// The page as it is sent: under 250 kB compressed in all, no code or style in the HTML, nothing from another host.
//   size.mjs PAGES
import { readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";

const most_bytes = 250_000;
const pages = process.argv[2];
const walk = (folder) =>
  readdirSync(folder).flatMap((name) => {
    const path = join(folder, name);
    return statSync(path).isDirectory() ? walk(path) : [path];
  });
const files = walk(pages);
const problems = [];
let sum = 0;
for (const file of files) {
  const bytes = readFileSync(file);
  sum += gzipSync(bytes, { level: 9 }).length;
  if (!/\.(js|css|html)$/.test(file)) continue;
  const text = bytes.toString("utf8");
  // Names of XML spaces are no addresses.
  for (const [address] of text.matchAll(/(?:https?:)?\/\/[a-z0-9-]+\.[a-z]{2,}[^\s"'`)]*/gi))
    if (!address.includes("www.w3.org/")) problems.push(`${file} names ${address}`);
  if (!file.endsWith(".html")) continue;
  if (/<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)/i.test(text))
    problems.push(`${file} has code or style in the page`);
}
if (files.length < 3) problems.push(`${pages} holds no page; build the target web`);
if (sum > most_bytes) problems.push(`${sum} bytes compressed, more than ${most_bytes}`);
console.log(`${files.length} files, ${sum} bytes compressed`);
for (const problem of problems) console.error(problem);
process.exit(problems.length === 0 ? 0 : 1);
