import { describe, expect, it } from "vitest";
import { Api, ApiError, path, type Upload } from "../../src/api";
import { named, piece_bytes, send_capture } from "../../src/bench/upload";
import { project_file } from "./files";

type Asked = { path: string; init: RequestInit };
const answering = (...answers: (Response | Error)[]) => {
  const asked: Asked[] = [];
  const api = new Api(async (path, init) => {
    asked.push({ path, init });
    const next = answers.shift();
    if (next === undefined) throw new Error("asked once too often");
    if (next instanceof Error) throw next;
    return next;
  });
  return { api, asked };
};
const json = (body: unknown, status = 200, headers: Record<string, string> = {}) =>
  new Response(JSON.stringify(body), { status, headers });
const header = (one: Asked | undefined, name: string) =>
  (one?.init.headers as Record<string, string> | undefined)?.[name];

describe("asking the server", () => {
  it("an unchanged answer is the same object, so that nothing is drawn anew", async () => {
    const { api, asked } = answering(json({ a: 1 }, 200, { ETag: '"7"' }), new Response(null, { status: 304 }));
    const first = await api.get("/api/line"),
      second = await api.get("/api/line");
    expect(second).toBe(first);
    expect(header(asked[1], "If-None-Match")).toBe('"7"');
    expect(api.peek("/api/line")).toBe(first);
  });

  it("what changes the record carries the session's token, what asks does not", async () => {
    const { api, asked } = answering(json({}), json({}));
    api.take_session({ signed_in: true, first_start: false, name: "ear", roles: [], csrf: "tok", expires_ms: null });
    await api.post("/api/holds", { reason: "tick" });
    await api.get("/api/line");
    expect(header(asked[0], "X-CSRF-Token")).toBe("tok");
    expect(asked[0]?.init.body).toBe('{"reason":"tick"}');
    expect(header(asked[1], "X-CSRF-Token")).toBeUndefined();
  });

  it("a refusal is told in the server's own sentence, with how long to wait", async () => {
    const { api } = answering(json({ error: "too many tries; wait a minute" }, 429, { "Retry-After": "60" }));
    await expect(api.post("/api/sign-in", {})).rejects.toMatchObject({
      status: 429,
      message: "Too many tries; wait a minute",
      retry_after_s: 60,
    });
  });

  it("a refusal that is not ours is told by its status", async () => {
    const { api } = answering(new Response("<html>bad gateway</html>", { status: 502 }));
    await expect(api.get("/api/line")).rejects.toMatchObject({
      status: 502,
      message: "The server answered 502 without a reason.",
    });
  });

  it("a server that is gone is told as such", async () => {
    const { api } = answering(new TypeError("failed to fetch"));
    await expect(api.get("/api/line")).rejects.toMatchObject({
      status: 0,
      message: expect.stringContaining("does not answer"),
    });
  });

  it("a session that ended leads to signing in, a wrong password does not", async () => {
    const { api } = answering(json({ error: "sign in" }, 401), json({ error: "name or password is wrong" }, 401));
    let signed_out = 0;
    api.on_signed_out = () => (signed_out += 1);
    await expect(api.get("/api/line")).rejects.toBeInstanceOf(ApiError);
    await expect(api.post("/api/sign-in", {})).rejects.toBeInstanceOf(ApiError);
    expect(signed_out).toBe(1);
  });

  it("signing out has no answer to read", async () => {
    const { api } = answering(new Response(null, { status: 204 }));
    await expect(api.post("/api/sign-out")).resolves.toBeUndefined();
  });
});

// The API file is the server's; a test there holds it against the running server.
describe("the API file", () => {
  it("names every path that the page asks for, with every query that it gives", () => {
    const file = JSON.parse(project_file("docs/api/openapi.json")) as {
      paths: Record<string, Record<string, { parameters?: { in: string; name: string }[] }>>;
    };
    const asked = [
      path.line,
      path.search("q"),
      path.title("x"),
      path.order("x"),
      path.part("x"),
      path.run("x"),
      path.disc("x", 3),
      path.thing("x"),
      path.sides,
      path.side("x"),
      path.plays("x", "impression"),
      path.sheet("x", "s", "a"),
      path.family("x"),
      path.trace("x"),
      path.heard("x"),
      path.portrait("x"),
      path.report("x"),
      path.picture("x", "disc", "SVG"),
      path.opinions("x"),
      path.audio("x", "capture", 1, 2),
      path.tickets,
      path.jobs,
      path.uploads,
      path.accounts,
    ];
    for (const one of asked) {
      const url = new URL(one, "http://works");
      const name = Object.keys(file.paths).find((known) =>
        new RegExp(`^${known.replaceAll(/\{[^}]+\}/g, "[^/]+")}$`).test(url.pathname),
      );
      expect(name, one).toBeDefined();
      const known = (file.paths[name as string]?.get?.parameters ?? [])
        .filter((parameter) => parameter.in === "query")
        .map((parameter) => parameter.name);
      for (const query of url.searchParams.keys()) expect(known, one).toContain(query);
    }
  });
});

describe("captures", () => {
  it("tell ticket and side by their file's name", () => {
    expect(named("S-000002-1_A.wav")).toEqual({ ticket: "S-000002-1", letter: "A" });
    expect(named("S-000002-1_b.second-play.flac")).toEqual({ ticket: "S-000002-1", letter: "B" });
    expect(named("tuesday.wav")).toBeNull();
  });

  const size = 2 * piece_bytes + 5;
  const file = {
    name: "S-1_A.wav",
    size,
    slice: (from?: number, to?: number) => new Blob([new Uint8Array((to ?? size) - (from ?? 0))]),
  };
  const sending = { name: file.name, ticket: "S-1", letter: "A", after: "as found" };
  const upload = (offset: number, job: string | null = null): Upload => ({
    id: "u",
    name: file.name,
    ticket: "S-1",
    letter: "A",
    bytes: size,
    offset,
    who: "ear",
    at_ms: 0,
    job,
  });
  const offsets = (asked: Asked[]) =>
    asked.filter((one) => one.init.method === "PATCH").map((one) => Number(header(one, "Upload-Offset")));

  it("go in pieces until the last is answered with its analysis", async () => {
    const { api, asked } = answering(
      json(upload(0), 201),
      json(upload(piece_bytes)),
      json(upload(2 * piece_bytes)),
      json(upload(size, "j1")),
    );
    const seen: number[] = [];
    const done = await send_capture(
      api,
      file,
      sending,
      [],
      (offset) => seen.push(offset),
      new AbortController().signal,
    );
    expect(done.job).toBe("j1");
    expect(offsets(asked)).toEqual([0, piece_bytes, 2 * piece_bytes]);
    expect(seen).toEqual([0, piece_bytes, 2 * piece_bytes, size]);
  });

  it("after a break go on from what the server holds, and lose nothing", async () => {
    const { api, asked } = answering(
      json(upload(0), 201),
      json(upload(piece_bytes)),
      new TypeError("gone"),
      new TypeError("still gone"),
      json(upload(piece_bytes)),
      json(upload(2 * piece_bytes)),
      json(upload(size, "j1")),
    );
    const done = await send_capture(api, file, sending, [], () => {}, new AbortController().signal, 1);
    expect(done.job).toBe("j1");
    // The piece that was lost, one try while the server is gone, and the rest.
    expect(offsets(asked).slice(0, 2)).toEqual([0, piece_bytes]);
    expect(offsets(asked).at(-1)).toBe(2 * piece_bytes);
  });

  it("one that was broken off on another day is continued, not begun again", async () => {
    const { api, asked } = answering(json(upload(size, "j2")));
    await send_capture(api, file, sending, [upload(2 * piece_bytes)], () => {}, new AbortController().signal);
    expect(offsets(asked)).toEqual([2 * piece_bytes]);
    expect(asked).toHaveLength(1);
  });

  it("a refusal ends it with its reason", async () => {
    const { api } = answering(
      json(upload(0), 201),
      json({ error: "not a recording: no RIFF header; export it as WAV" }, 422),
    );
    await expect(send_capture(api, file, sending, [], () => {}, new AbortController().signal, 1)).rejects.toMatchObject(
      { status: 422 },
    );
  });
});
