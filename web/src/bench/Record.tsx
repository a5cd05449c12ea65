import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import { api, type Device, type Job, path, type Recording } from "../api";
import { use_kept } from "../hooks";
import { tell_changed, use_data } from "../live";
import { StateWord } from "../parts/State";
import { href } from "../router";
import { clock_s, decibel, per_cent } from "../units";
import { act_now, device_words, ended_words, is_live, meter_share, meter_dB, next_letter, warnings } from "./recording";

const live_ms = 200,
  idle_ms = 3000;

/** The recordings as they move: five times a second while one is live. */
function use_recordings(): { recordings: Recording[]; look: () => void; error: string | null } {
  const [recordings, set_recordings] = useState<Recording[]>([]);
  const [error, set_error] = useState<string | null>(null);
  const again = useRef(() => {});
  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | undefined,
      here = true,
      jobs = "";
    const turn = async () => {
      clearTimeout(timer);
      let live = false;
      try {
        const { recordings: now } = await api.get<{ recordings: Recording[] }>(path.recordings);
        if (!here) return;
        now.sort((a, b) => b.at_ms - a.at_ms);
        live = now.some(is_live);
        set_recordings(now);
        set_error(null);
        const sent = now.map((one) => one.job ?? "").join();
        if (sent !== jobs) tell_changed();
        jobs = sent;
      } catch (failure) {
        if (here) set_error(failure instanceof Error ? failure.message : String(failure));
      }
      if (here) timer = setTimeout(turn, live && document.visibilityState === "visible" ? live_ms : idle_ms);
    };
    again.current = () => void turn();
    void turn();
    return () => {
      here = false;
      clearTimeout(timer);
    };
  }, []);
  return { recordings, look: useCallback(() => again.current(), []), error };
}

/** The bench records: scan the ticket, lower the stylus; it begins and ends by itself. */
export function Record({ jobs }: { jobs: Job[] }) {
  const { recordings, look, error } = use_recordings();
  const devices = use_data<{ devices: Device[] }>(path.devices);
  const [device, set_device] = use_kept<string>("device", "");
  const [after, set_after] = useState("as found");
  const [ticket, set_ticket] = useState("");
  const [letter, set_letter] = useState("A");
  const [problem, set_problem] = useState<string | null>(null);
  const field = useRef<HTMLInputElement>(null);
  const offered = devices.data?.devices ?? [];
  const chosen = offered.some((one) => one.name === device) ? device : (offered[0]?.name ?? "");
  const busy = recordings.some((one) => is_live(one) && one.device === chosen);
  const act = async (what: () => Promise<unknown>) => {
    try {
      await what();
      set_problem(null);
      look();
      return true;
    } catch (failure) {
      set_problem(failure instanceof Error ? failure.message : String(failure));
      return false;
    }
  };
  const arm = async (of: string, side: string) => {
    if (await act(() => api.post(path.recordings, { device: chosen, ticket: of, letter: side, after }))) set_ticket("");
    else field.current?.select();
  };
  return (
    <section aria-label="Record at the bench" class="record">
      <h2>Record at the bench</h2>
      {devices.data && offered.length === 0 ? (
        <p>
          The computer that serves this page offers no audio interface. Plug one in, then{" "}
          <button type="button" onClick={devices.again}>
            Look again
          </button>
        </p>
      ) : (
        <>
          <p class="quiet">
            With the stylus up, scan the ticket and then lower the stylus. It begins and ends by itself, and goes into
            the queue.
          </p>
          <form
            class="fields"
            onSubmit={(event) => {
              event.preventDefault();
              void arm(ticket, letter);
            }}
          >
            <label>
              Input
              <select value={chosen} onChange={(event) => set_device(event.currentTarget.value)}>
                {offered.map((one) => (
                  <option key={one.name} value={one.name}>
                    {device_words(one)}
                  </option>
                ))}
              </select>
            </label>
            <label>
              Side on the platter
              <select value={letter} onChange={(event) => set_letter(event.currentTarget.value)}>
                {["A", "B", "C", "D"].map((one) => (
                  <option key={one}>{one}</option>
                ))}
              </select>
            </label>
            <label>
              Played
              <select value={after} onChange={(event) => set_after(event.currentTarget.value)}>
                {["as found", "brushed", "washed", "reseated"].map((word) => (
                  <option key={word}>{word}</option>
                ))}
              </select>
            </label>
            <label>
              Ticket to record
              <input
                ref={field}
                required
                list="waiting-tickets"
                autocomplete="off"
                value={ticket}
                onInput={(event) => set_ticket(event.currentTarget.value.trim())}
              />
            </label>
            <button type="submit" class="main" disabled={busy || chosen === ""}>
              Wait for the stylus
            </button>
          </form>
        </>
      )}
      {(problem ?? error) && (
        <p class="problem" role="alert">
          {problem ?? error}
        </p>
      )}
      {recordings.filter((one) => one.state !== "sent").map((one) => (
        <UnderWay key={one.id} one={one} act={act} />
      ))}
      <Sent recordings={recordings} jobs={jobs} busy={busy} turn_over={(of, side) => {
        set_letter(side);
        void arm(of, side);
      }} />
    </section>
  );
}

function UnderWay({ one, act }: { one: Recording; act: (what: () => Promise<unknown>) => Promise<boolean> }) {
  const post = (what: string) => () => void act(() => api.post(path.recording(one.id, what)));
  const away = () => void act(() => api.write(path.recording(one.id), "DELETE", null, {}));
  const up = one.state === "settling" || one.state === "waiting";
  return (
    <div class="under-way">
      <p class="act-now" role={one.state === "recording" ? undefined : "status"}>
        {act_now(one)}
      </p>
      <p class="quiet device">
        {one.ticket}, side {one.letter}; {one.device} at {one.sample_rate_Hz / 1000}
        {"\u2009"}kHz; {one.who}
      </p>
      {is_live(one) && one.peak_dB.map((_, channel) => <Meter key={channel} one={one} channel={channel} />)}
      {warnings(one).map((words) => (
        <p key={words} class="problem">
          {words}
        </p>
      ))}
      {one.error && (
        <p class="problem" role="alert">
          {one.error[0]?.toUpperCase() + one.error.slice(1)}. {clock_s(one.kept_s)} of it are kept.
        </p>
      )}
      <p class="acts">
        {up && (
          <button type="button" onClick={post("/begin")}>
            The stylus is down: begin now
          </button>
        )}
        {one.state === "recording" && (
          <button type="button" class="main" onClick={post("/end")}>
            End here and send
          </button>
        )}
        {one.state === "held" && (
          <button type="button" onClick={post("/send")}>
            Send it all the same
          </button>
        )}
        {one.state !== "finishing" && (
          <button type="button" class="quiet" onClick={away}>
            {up ? "Give up" : `Throw it away`}
            <span class="unseen">: {one.ticket}</span>
          </button>
        )}
      </p>
    </div>
  );
}

const meter_width = 400,
  meter_height = 20;

function Meter({ one, channel }: { one: Recording; channel: number }) {
  const name = one.channels === 1 ? "Level" : channel === 0 ? "Left" : "Right";
  const peak_dB = one.peak_dB[channel] ?? meter_dB.low,
    highest_dB = one.highest_dB[channel] ?? meter_dB.low;
  const highest = meter_share(highest_dB) * meter_width;
  return (
    <div class="meter">
      <span>{name}</span>
      <div
        role="meter"
        aria-label={`${name} level, dB below full scale`}
        aria-valuemin={meter_dB.low}
        aria-valuemax={meter_dB.high}
        aria-valuenow={Math.round(Math.min(Math.max(peak_dB, meter_dB.low), meter_dB.high))}
      >
        <svg viewBox={`0 0 ${meter_width} ${meter_height}`} preserveAspectRatio="none" aria-hidden="true">
          <rect class="well" x="0" y="0" width={meter_width} height={meter_height} />
          <rect
            class={`level ${peak_dB > meter_dB.loud ? "loud" : ""}`}
            x="0"
            y="3"
            width={meter_share(peak_dB) * meter_width}
            height={meter_height - 6}
          />
          <line class="highest" x1={highest} x2={highest} y1="0" y2={meter_height} />
        </svg>
      </div>
      <output>
        {decibel(Math.max(peak_dB, -99), 0)}, highest {decibel(Math.max(highest_dB, -99), 0)}
      </output>
    </div>
  );
}

/** What was sent, and what became of it; the disc can be turned over. */
function Sent(props: {
  recordings: Recording[];
  jobs: Job[];
  busy: boolean;
  turn_over: (ticket: string, letter: string) => void;
}) {
  const sent = props.recordings.filter((one) => one.state === "sent").slice(0, 4);
  if (sent.length === 0) return null;
  const next = sent[0] && next_letter(sent[0].letter);
  return (
    <>
      {sent[0] && next && !props.busy && (
        <p>
          <button type="button" onClick={() => sent[0] && props.turn_over(sent[0].ticket, next)}>
            Turned over: record side {next} of {sent[0].ticket}
          </button>
        </p>
      )}
      <ul class="jobs" aria-label="Sides recorded">
        {sent.map((one) => {
          const job = props.jobs.find(({ id }) => id === one.job);
          return (
            <li key={one.id}>
              <span class="name">
                {one.ticket}, side {one.letter}
              </span>
              <span class="quiet">
                {clock_s(one.recorded_s)}
                {one.ended && `, ${ended_words[one.ended]}`}
              </span>
              {!job ? (
                <span>queued</span>
              ) : job.state === "running" || job.state === "queued" ? (
                <>
                  <progress max={1} value={job.share} aria-label={`Analysing ${one.ticket}, side ${one.letter}`} />
                  <span>{job.state === "queued" ? "queued" : `${per_cent(job.share)} analysed`}</span>
                </>
              ) : job.report ? (
                <>
                  <StateWord state={job.pass ? "good" : "out"} words={job.pass ? "within limits" : "outside limits"} />
                  <a href={href("bench", job.report)}>Open {job.report}</a>
                </>
              ) : (
                <span class="error">{job.error ?? job.state}</span>
              )}
            </li>
          );
        })}
      </ul>
    </>
  );
}
