import type { Heard, Opinion } from "../api";
import type { Fault, HeardSide } from "../contracts";
import { Table } from "../parts/Table";
import { go, href } from "../router";
import { may, use_settings } from "../settings";
import { clock_ms, clock_s, count, instant } from "../units";
import { fault_time_s } from "./clock";

/** What listeners said beside what the engine found, and what is to be judged next. */
export function EarAndEngine(props: {
  report: HeardSide;
  heard: Heard;
  unjudged: Fault | null;
  may_judge: boolean;
  judge: (opinion: "agree" | "disagree") => void;
  /** What this listener said of the verdict. */
  mine: Opinion | undefined;
  take_back: (opinion: Opinion) => void;
  choose: (fault: Fault) => void;
}) {
  const { report, unjudged, may_judge } = props;
  const { opinions, play } = props.heard;
  const { session, zone } = use_settings();
  const what = (one: Opinion) => {
    const fault = report.faults.find(({ id }) => id === one.fault);
    return fault ? `${fault.kind} at ${clock_s(fault_time_s(report, fault))}` : (one.what ?? "the verdict");
  };
  return (
    <section aria-label="Ear and engine">
      <h2>Ear and engine</h2>
      <p>
        Of {count(report.faults.length, "fault")} that the engine found, listeners agreed with {opinions.agreed} and
        disagreed with {opinions.disagreed}; {opinions.not_judged} not judged yet. They added {opinions.added} that it
        has not.
      </p>
      {may_judge ? (
        <p class="acts">
          <button type="button" aria-pressed={props.mine?.opinion === "agree"} onClick={() => props.judge("agree")}>
            Agree with the verdict
          </button>
          <button
            type="button"
            aria-pressed={props.mine?.opinion === "disagree"}
            onClick={() => props.judge("disagree")}
          >
            Disagree with the verdict
          </button>
        </p>
      ) : (
        <p class="quiet">Your account may look and listen; judging needs the role of listener or engineer.</p>
      )}
      {opinions.opinions.length > 0 && (
        <details>
          <summary>Every word</summary>
          <Table
            caption="What listeners said"
            rows={opinions.opinions}
            row_key={(one) => one.code}
            columns={[
              { head: "when", value: (one) => one.at_ms, show: (one) => instant(one.at_ms, zone) },
              { head: "who", value: (one) => one.who },
              { head: "word", value: (one) => one.opinion },
              { head: "of", value: what },
              {
                head: "programme time",
                value: (one) => one.programme_s,
                show: (one) => (one.programme_s === null ? "–" : clock_ms(one.programme_s)),
                figure: true,
              },
              ...(may_judge
                ? [
                    {
                      head: "undo",
                      value: () => "",
                      show: (one: Opinion) =>
                        one.who === session.name || may(session, "engineer") ? (
                          <button type="button" class="quiet" onClick={() => props.take_back(one)}>
                            Take back<span class="unseen">: {what(one)}</span>
                          </button>
                        ) : null,
                    },
                  ]
                : []),
            ]}
          />
        </details>
      )}
      {unjudged && may_judge && (
        <p>
          <button
            type="button"
            class="main"
            onClick={() => {
              props.choose(unjudged);
              scrollTo({ top: 0 });
            }}
          >
            Judge the {unjudged.kind} at {clock_s(fault_time_s(report, unjudged))}
          </button>
        </p>
      )}
      {!unjudged && play.side && (
        <p>
          <button type="button" class="main" onClick={() => go(href("trace", play.side ?? ""))}>
            Open the trace of side {play.letter}
          </button>
        </p>
      )}
    </section>
  );
}
