import { readFileSync } from "node:fs";

/** A file of the project's, by its path from the root. */
export const project_file = (path: string): string =>
  readFileSync(new URL(`../../../${path}`, import.meta.url), "utf8");
