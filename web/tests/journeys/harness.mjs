// What the journeys share: the program as a server, steps that are told and counted, and a page that is watched.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";

export class Server {
  constructor(program, pages, environment = () => ({})) {
    Object.assign(this, { program, pages, environment });
  }
  async start(works, port = 0) {
    this.said = "";
    this.process = spawn(this.program, ["serve", "--works", works, "--port", String(port), "--pages", this.pages], {
      stdio: ["ignore", "pipe", "pipe"],
      env: { ...process.env, ...this.environment() },
    });
    this.process.stdout.on("data", (text) => (this.said += text));
    this.process.stderr.on("data", (text) => (this.said += text));
    this.ended = new Promise((done) => this.process.on("exit", done));
    const url = await this.hears(/at (http:\/\/[^\s]+)/);
    this.url = url.replace(/\/$/, "");
    this.port = Number(new URL(url).port);
  }
  async hears(pattern) {
    for (let tries = 0; tries < 300; ++tries) {
      const found = pattern.exec(this.said);
      if (found) return found[1];
      assert.equal(this.process.exitCode, null, `the server ended: ${this.said}`);
      await new Promise((done) => setTimeout(done, 50));
    }
    throw new Error(`the server did not say ${pattern}: ${this.said}`);
  }
  async end(signal = "SIGTERM") {
    this.process.kill(signal);
    await this.ended;
  }
}

/** Steps, each told with its time; `on_failure` is called with how many have failed. */
export class Steps {
  began = Date.now();
  passed = 0;
  failed = 0;
  constructor(on_failure) {
    this.on_failure = on_failure;
  }
  async step(name, act) {
    const from = Date.now();
    try {
      await act();
      this.passed += 1;
      console.log(`ok      ${name} (${((Date.now() - from) / 1000).toFixed(1)} s)`);
    } catch (error) {
      this.failed += 1;
      console.log(`FAILED  ${name}\n${error.stack}`);
      await this.on_failure(this.failed);
    }
  }
  /** The exit status. */
  end(pictures) {
    const took_s = ((Date.now() - this.began) / 1000).toFixed(0);
    console.log(`${this.passed} passed, ${this.failed} failed, ${took_s} s; pictures in ${pictures}`);
    return this.failed === 0 && this.passed > 0 ? 0 : 1;
  }
}

/** What pages say on their console, and whom they ask, is kept throughout; `pardon` is set where a refusal is meant. */
export class Watch {
  troubles = [];
  pardon = false;
  constructor(server) {
    this.server = server;
  }
  page(page) {
    page.on("console", (message) => {
      if (message.type() === "error" && !this.pardon) this.troubles.push(`${page.url()}: ${message.text()}`);
    });
    page.on("pageerror", (error) => this.troubles.push(`${page.url()}: ${error}`));
    page.on("request", (request) => {
      if (!/^(data|blob):/.test(request.url()) && new URL(request.url()).origin !== this.server.url)
        this.troubles.push(`asked ${request.url()}`);
    });
    return page;
  }
}
