import { path, type Trace } from "../api";
import type { Fault, HeardSide } from "../contracts";
import { use_data } from "../live";
import { StateWord } from "../parts/State";
import { href } from "../router";
import { use_settings } from "../settings";
import { belief, cause_words, recurring_at } from "../trace/family";
import { capital, clock_ms, decibel, degrees, per_cent, radius, standing } from "../units";
import { fault_time_s } from "./clock";

/** The reasons for the verdict, each a line. */
export function Why({ report }: { report: HeardSide }) {
  const { reasons, pass, limits } = report.verdict;
  return (
    <section aria-label="Why">
      <h2>Why</h2>
      {reasons.length === 0 ? (
        <p>{pass ? "Every limit that could be judged is kept." : "No limit could be judged."}</p>
      ) : (
        <ul class="reasons">
          {reasons.map((reason) => (
            <li key={reason.rule + reason.text}>{capital(reason.text)}</li>
          ))}
        </ul>
      )}
      <p class="quiet">Limits: {limits}</p>
      {standing(report) === "not_this_cut" && (
        <p>
          <b>What to do:</b> compare ticket, label and matrix number with the order; then hear it against its own cut.
        </p>
      )}
    </section>
  );
}

/** The fault that is looked at and heard, its place among the others, and whether it recurs on other discs. */
export function ChosenFault(props: {
  report: HeardSide;
  fault: Fault;
  in_time: number;
  of: number;
  rank: number;
  side: string | null;
  step: (by: number) => void;
}) {
  const { fault, side } = props;
  const { system } = use_settings();
  const trace = use_data<Trace>(side === null ? null : path.trace(side));
  const recurs = recurring_at(trace.data?.trace?.recurring ?? [], fault.programme_s);
  const parts = [
    `${radius(fault.radius_m, system)} from the centre`,
    degrees(fault.angle_deg),
    `peak ${decibel(fault.peak_dB)}`,
    fault.audibility,
    fault.channel === "both" ? null : fault.channel,
    fault.nature ? `${fault.nature} ${per_cent(fault.nature_probability ?? 0)}` : null,
  ];
  return (
    <section aria-label="Chosen fault" class="chosen-fault">
      <h2>
        {capital(fault.kind)} at {clock_ms(fault_time_s(props.report, fault))}
      </h2>
      <p class="counts">{parts.filter(Boolean).join(" · ")}</p>
      {recurs && side && (
        <p>
          <StateWord state="out" words={`Recurs on ${recurs.on.length} of ${recurs.heard} discs`} />:{" "}
          {cause_words(recurs.cause)}, {belief(recurs.cause)}.{" "}
          <a href={`${href("trace", side)}?fault=${recurs.id}`}>Trace it</a>
        </p>
      )}
      <p class="step">
        <button type="button" onClick={() => props.step(-1)}>
          ← Before
        </button>
        <span>
          Fault {props.in_time} of {props.of} in time,{" "}
          {props.rank === 1 ? "the worst" : `number ${props.rank} of the worst`}
        </span>
        <button type="button" onClick={() => props.step(1)}>
          After →
        </button>
      </p>
    </section>
  );
}
