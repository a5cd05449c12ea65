import { useEffect, useRef, useState } from "preact/hooks";
import { api, ApiError, type Job, path, type Ticket, type Upload } from "../api";
import { tell_changed } from "../live";
import { StateWord } from "../parts/State";
import { href } from "../router";
import { bytes, per_cent } from "../units";
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

export function Drop({ tickets, jobs }: { tickets: Ticket[]; jobs: Job[] }) {
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
