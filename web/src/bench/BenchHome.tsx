import { useEffect, useRef, useState } from "preact/hooks";
import { api, ApiError, type Job, path, type SideStanding, type Ticket, type Upload } from "../api";
import { tell_changed, use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { type State, StateWord } from "../parts/State";
import { Table } from "../parts/Table";
import { href } from "../router";
import { may, use_settings } from "../settings";
import { bytes, count, instant, per_cent } from "../units";
import { named, send_capture } from "./upload";

interface Dropped {
  key: number;
  file: File;
  ticket: string;
  letter: string;
  after: string;
  state: "asks" | "sending" | "sent" | "failed";
  offset: number;
  error: string | null;
  job: string | null;
  stop: AbortController;
}

let next_key = 1;
// What was dropped outlives a look at another page.
let dropped_now: Dropped[] = [];
const watchers = new Set<() => void>();

function change(key: number, by: Partial<Dropped>): void {
  dropped_now = dropped_now.map((one) => (one.key === key ? { ...one, ...by } : one));
  for (const tell of watchers) tell();
}

async function send(one: Dropped): Promise<void> {
  change(one.key, { state: "sending", error: null });
  try {
    const { uploads } = await api.get<{ uploads: Upload[] }>(path.uploads);
    const sent = await send_capture(
      api,
      one.file,
      { name: one.file.name, ticket: one.ticket, letter: one.letter, after: one.after },
      uploads,
      (offset) => change(one.key, { offset }),
      one.stop.signal,
    );
    change(one.key, { state: "sent", job: sent.job });
    tell_changed();
  } catch (error) {
    if (one.stop.signal.aborted) return;
    change(one.key, { state: "failed", error: error instanceof ApiError ? error.message : String(error) });
  }
}

export function BenchHome() {
  const { session, zone } = use_settings();
  const tickets = use_data<{ tickets: Ticket[]; total: number }>(path.tickets);
  const jobs = use_data<{ jobs: Job[]; running: number; queued: number }>(path.jobs);
  const sides = use_data<{ sides: SideStanding[] }>(path.sides);
  const may_send = may(session, "listener", "station", "engineer");
  const error = jobs.error ?? tickets.error ?? sides.error;
  const waiting = tickets.data?.tickets ?? [];
  return (
    <main id="main" tabIndex={-1} class="desk">
      <header class="subject">
        <h1>The listening bench</h1>
        <p class="counts">
          {tickets.data ? `${count(tickets.data.total, "disc")} to hear` : "…"} ·{" "}
          {jobs.data ? `${jobs.data.running} being analysed, ${jobs.data.queued} queued` : "…"}
        </p>
      </header>
      {error && <Problem error={error} again={jobs.again} />}
      {may_send ? (
        <Drop tickets={waiting} jobs={jobs.data?.jobs ?? []} />
      ) : (
        <p class="quiet">
          Your account may look; to bring captures it needs the role of listener, station or engineer.
        </p>
      )}
      <section aria-label="Analyses">
        <h2>Analyses</h2>
        {jobs.data ? <Jobs jobs={jobs.data.jobs} may_act={may_send} /> : <Waiting what="the analyses" />}
      </section>
      <div class="columns even">
        <section aria-label="To hear">
          <h2>Discs to hear</h2>
          {tickets.data ? (
            <Table
              caption="Tickets that wait, oldest first"
              hide_caption
              most={25}
              rows={waiting}
              row_key={(one) => one.ticket.code}
              columns={[
                { head: "ticket", value: (one) => one.ticket.code },
                {
                  head: "title",
                  value: (one) => one.name,
                  show: (one) => <a href={href("title", one.title)}>{one.name}</a>,
                },
                {
                  head: "run",
                  value: (one) => text_of(one.ticket.run),
                  show: (one) =>
                    text_of(one.ticket.run) && (
                      <a href={href("run", text_of(one.ticket.run))}>{text_of(one.ticket.run)}</a>
                    ),
                },
                { head: "why", value: (one) => text_of(one.ticket.reason) },
                ...(may(session, "listener", "engineer")
                  ? [{ head: "by ear", value: () => "", show: (one: Ticket) => <ByEar ticket={one.ticket.code} /> }]
                  : []),
              ]}
            />
          ) : (
            <Waiting what="the tickets" />
          )}
        </section>
        <section aria-label="Heard sides">
          <h2>Sides heard</h2>
          {sides.data ? (
            <Table
              caption="Sides, last heard first"
              hide_caption
              most={25}
              rows={sides.data.sides}
              row_key={(one) => one.code}
              columns={[
                {
                  head: "side",
                  value: (one) => `${one.name} ${one.letter}`,
                  show: (one) => (
                    <a href={href("side", one.code)}>
                      {one.name}, side {one.letter}
                    </a>
                  ),
                },
                { head: "heard", value: (one) => one.plays, figure: true },
                { head: "within limits", value: (one) => one.passed, figure: true },
                {
                  head: "last",
                  value: (one) => one.last_ms,
                  show: (one) => (one.last_ms === null ? "–" : instant(one.last_ms, zone)),
                },
              ]}
            />
          ) : (
            <Waiting what="the sides" />
          )}
        </section>
      </div>
    </main>
  );
}

/** A disc heard by ear alone, without a capture. */
function ByEar({ ticket }: { ticket: string }) {
  const [problem, set_problem] = useState<string | null>(null);
  const say = async (good: boolean) => {
    try {
      await api.post(`/api/tickets/${encodeURIComponent(ticket)}/hear`, { good });
      tell_changed();
    } catch (error) {
      set_problem(error instanceof Error ? error.message : String(error));
    }
  };
  return (
    <span class="acts">
      <button type="button" class="quiet" onClick={() => void say(true)}>
        Good<span class="unseen">: {ticket}</span>
      </button>
      <button type="button" class="quiet" onClick={() => void say(false)}>
        Bad<span class="unseen">: {ticket}</span>
      </button>
      {problem && (
        <span class="error" role="alert">
          {problem}
        </span>
      )}
    </span>
  );
}

export const text_of = (value: unknown): string => (value === null || value === undefined ? "" : String(value));

const job_states: Record<Job["state"], State> = {
  queued: "unknown",
  running: "unknown",
  done: "good",
  failed: "out",
  cancelled: "scrap",
};

function Jobs({ jobs, may_act }: { jobs: Job[]; may_act: boolean }) {
  const { zone } = use_settings();
  const [problem, set_problem] = useState<string | null>(null);
  const act = async (job: Job, what: "cancel" | "retry") => {
    try {
      await api.post(`/api/jobs/${encodeURIComponent(job.id)}/${what}`);
      set_problem(null);
      tell_changed();
    } catch (error) {
      set_problem(error instanceof Error ? error.message : String(error));
    }
  };
  if (jobs.length === 0) return <p class="quiet">None yet. Drop a capture above.</p>;
  return (
    <>
      {problem && (
        <p class="problem" role="alert">
          {problem}
        </p>
      )}
      <ul class="jobs">
        {jobs.slice(0, 25).map((job) => (
          <li key={job.id}>
            <span class="name">
              {job.kind === "trace" ? `Trace of ${job.what}` : job.what}
              {job.letter ? `, side ${job.letter}` : ""}
            </span>
            {job.state === "running" || job.state === "queued" ? (
              <>
                <progress max={1} value={job.share} aria-label={`Analysis of ${job.what}`} />{" "}
                <span>{job.state === "queued" ? "queued" : per_cent(job.share)}</span>
              </>
            ) : job.state === "done" && job.pass !== null ? (
              <StateWord state={job.pass ? "good" : "out"} words={job.pass ? "within limits" : "outside limits"} />
            ) : (
              <StateWord state={job_states[job.state]} words={job.state} />
            )}
            {job.report && <a href={href("bench", job.report)}>Open {job.report}</a>}
            {job.kind === "trace" && job.side && <a href={href("trace", job.side)}>Open the trace</a>}
            <span class="quiet">
              {job.who}, {instant(job.ended_ms ?? job.began_ms ?? job.at_ms, zone)}
            </span>
            {job.error && <span class="error">{job.error}</span>}
            {may_act && (job.state === "queued" || job.state === "running") && (
              <button type="button" class="quiet" onClick={() => void act(job, "cancel")}>
                Stop {job.what}
              </button>
            )}
            {may_act && (job.state === "failed" || job.state === "cancelled") && (
              <button type="button" class="quiet" onClick={() => void act(job, "retry")}>
                Try {job.what} again
              </button>
            )}
          </li>
        ))}
      </ul>
    </>
  );
}

function Drop({ tickets, jobs }: { tickets: Ticket[]; jobs: Job[] }) {
  const [, redraw] = useState(0);
  const [over, set_over] = useState(false);
  const picker = useRef<HTMLInputElement>(null);
  useEffect(() => {
    const tell = () => redraw((n) => n + 1);
    watchers.add(tell);
    return () => void watchers.delete(tell);
  }, []);
  const take = (files: FileList | null) => {
    const more = [...(files ?? [])].map((file): Dropped => {
      const told = named(file.name);
      return {
        key: next_key++,
        file,
        ticket: told?.ticket ?? "",
        letter: told?.letter ?? "A",
        after: "as found",
        state: "asks",
        offset: 0,
        error: null,
        job: null,
        stop: new AbortController(),
      };
    });
    dropped_now = [...dropped_now, ...more];
    redraw((n) => n + 1);
    // A file whose name tells its ticket needs no question.
    for (const one of more) if (one.ticket !== "") void send(one);
  };
  const drop = (event: DragEvent) => {
    event.preventDefault();
    set_over(false);
    take(event.dataTransfer?.files ?? null);
  };
  return (
    <section
      aria-label="Bring captures"
      class={`drop ${over ? "over" : ""}`}
      onDragOver={(event) => {
        event.preventDefault();
        set_over(true);
      }}
      onDragLeave={() => set_over(false)}
      onDrop={drop}
    >
      <h2>Bring captures</h2>
      <p>
        Drop recordings of played sides here, several at once, or{" "}
        <button type="button" class="main" onClick={() => picker.current?.click()}>
          Choose recordings
        </button>
      </p>
      <p class="quiet">
        A file named by ticket and side, such as S-000002-1_A.wav, goes on by itself; of others the ticket is asked.
      </p>
      <input
        ref={picker}
        class="unseen"
        type="file"
        multiple
        accept="audio/*,.wav,.flac,.w64,.rf64,.caf,.aiff"
        aria-label="Recordings"
        tabIndex={-1}
        onChange={(event) => {
          take(event.currentTarget.files);
          event.currentTarget.value = "";
        }}
      />
      <datalist id="waiting-tickets">
        {tickets.map((one) => (
          <option key={one.ticket.code} value={one.ticket.code}>
            {one.name}
          </option>
        ))}
      </datalist>
      {dropped_now.length > 0 && (
        <ul class="jobs" aria-label="Captures brought">
          {dropped_now.map((one) => (
            <DroppedFile key={one.key} one={one} job={jobs.find((job) => job.id === one.job) ?? null} />
          ))}
        </ul>
      )}
    </section>
  );
}

function DroppedFile({ one, job }: { one: Dropped; job: Job | null }) {
  const asks = one.state === "asks" || one.state === "failed";
  const away = () => {
    one.stop.abort();
    dropped_now = dropped_now.filter((other) => other.key !== one.key);
    for (const tell of watchers) tell();
  };
  return (
    <li>
      <span class="name">{one.file.name}</span> <span class="quiet">{bytes(one.file.size)}</span>
      {asks ? (
        <form
          class="fields"
          onSubmit={(event) => {
            event.preventDefault();
            void send(one);
          }}
        >
          <label>
            Ticket
            <input
              required
              list="waiting-tickets"
              value={one.ticket}
              onInput={(event) => change(one.key, { ticket: event.currentTarget.value.trim() })}
            />
          </label>
          <label>
            Side
            <select value={one.letter} onChange={(event) => change(one.key, { letter: event.currentTarget.value })}>
              <option>A</option>
              <option>B</option>
              <option>C</option>
              <option>D</option>
            </select>
          </label>
          <label>
            Played
            <select value={one.after} onChange={(event) => change(one.key, { after: event.currentTarget.value })}>
              {["as found", "brushed", "washed", "reseated"].map((word) => (
                <option key={word}>{word}</option>
              ))}
            </select>
          </label>
          <button type="submit" class="main">
            Send {one.file.name}
          </button>
        </form>
      ) : (
        <>
          {one.state === "sending" && (
            <>
              <progress max={one.file.size} value={one.offset} aria-label={`Sending ${one.file.name}`} />{" "}
              <span>{per_cent(one.offset / Math.max(one.file.size, 1))} sent</span>
            </>
          )}
          {one.state === "sent" &&
            (!job ? (
              <span>arrived, queued</span>
            ) : job.state === "running" || job.state === "queued" ? (
              <>
                <progress max={1} value={job.share} aria-label={`Analysing ${one.file.name}`} />{" "}
                <span>{job.state === "queued" ? "queued" : `${per_cent(job.share)} analysed`}</span>
              </>
            ) : job.report ? (
              <>
                <StateWord state={job.pass ? "good" : "out"} words={job.pass ? "within limits" : "outside limits"} />{" "}
                <a href={href("bench", job.report)}>Open {job.report}</a>
              </>
            ) : (
              <span class="error">{job.error ?? job.state}</span>
            ))}
        </>
      )}
      {one.error && (
        <span class="error" role="alert">
          {one.error}
        </span>
      )}
      <button type="button" class="quiet" onClick={away}>
        {one.state === "sending" ? `Give up ${one.file.name}` : `Clear ${one.file.name}`}
      </button>
    </li>
  );
}
