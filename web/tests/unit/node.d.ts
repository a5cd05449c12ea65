// The one thing of Node's that the tests use; its whole typings would be a package more.
declare module "node:fs" {
  export function readFileSync(path: URL, encoding: "utf8"): string;
}
