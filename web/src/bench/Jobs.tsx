import { useState } from "preact/hooks";
import { api, type Job } from "../api";
import { tell_changed } from "../live";
import { type State, StateWord } from "../parts/State";
import { href } from "../router";
import { use_settings } from "../settings";
import { instant, per_cent } from "../units";

const job_states: Record<Job["state"], State> = {
  queued: "unknown",
  running: "unknown",
  done: "good",
  failed: "out",
  cancelled: "scrap",
};

/** A side's trace is made anew whenever the record moves: of those that are done the newest is enough. */
export function worth_showing(jobs: readonly Job[], most = 25): Job[] {
  const traced = new Set<string>();
  return jobs
    .filter((job) => {
      if (job.kind !== "trace" || job.state !== "done") return true;
      const first = !traced.has(job.what);
      traced.add(job.what);
      return first;
    })
    .slice(0, most);
}

export function Jobs({ jobs, may_act }: { jobs: Job[]; may_act: boolean }) {
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
        {worth_showing(jobs).map((job) => (
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
