import type { Opinion } from "../api";
import type { Fault, HeardSide } from "../contracts";
import { Table } from "../parts/Table";
import { listed_faults } from "../portrait/faults";
import { use_settings } from "../settings";
import { capital, clock_ms, degrees, fixed, radius } from "../units";
import { fault_time_s } from "./clock";
import { ear_words } from "./ear";

/** Every fault, worst first, with the number that the portrait gives the worst; then the patterns. */
export function FaultTable(props: {
  report: HeardSide;
  worst: readonly Fault[];
  chosen: number | null;
  choose: (fault: Fault) => void;
  words: ReadonlyMap<number, Opinion>;
}) {
  const { report, worst } = props;
  const { system } = use_settings();
  const ranks = new Map(worst.map((fault, i) => [fault.id, i + 1]));
  const patterns = new Map(report.patterns.map((pattern) => [pattern.id, `${pattern.kind} ${pattern.id}`]));
  const time = (fault: Fault) => clock_ms(fault_time_s(report, fault));
  return (
    <section aria-label="Faults">
      <h2>Faults</h2>
      <Table
        caption={`Faults, the ${Math.min(listed_faults, worst.length)} worst numbered on the portrait`}
        rows={worst}
        row_key={(fault) => fault.id}
        most={40}
        chosen={props.chosen}
        on_choose={props.choose}
        choose_words={(fault) => `Fault ${ranks.get(fault.id)}, ${fault.kind} at ${time(fault)}`}
        columns={[
          { head: "no.", value: (fault) => ranks.get(fault.id) ?? null, figure: true },
          { head: "time", value: (fault) => fault_time_s(report, fault), show: time, figure: true },
          { head: "kind", value: (fault) => fault.kind },
          {
            head: "radius",
            value: (fault) => fault.radius_m,
            show: (fault) => radius(fault.radius_m, system),
            figure: true,
          },
          { head: "angle", value: (fault) => fault.angle_deg, show: (fault) => degrees(fault.angle_deg), figure: true },
          { head: "peak, dB", value: (fault) => fault.peak_dB, show: (fault) => fixed(fault.peak_dB, 1), figure: true },
          {
            head: "over noise, dB",
            value: (fault) => fault.excess_dB,
            show: (fault) => fixed(fault.excess_dB, 1),
            figure: true,
          },
          { head: "audibility", value: (fault) => fault.audibility },
          { head: "channel", value: (fault) => fault.channel },
          { head: "plane", value: (fault) => fault.plane },
          {
            head: "pattern",
            value: (fault) => (fault.pattern === null ? null : (patterns.get(fault.pattern) ?? null)),
          },
          { head: "ear", value: (fault) => ear_words(props.words.get(fault.id)) },
        ]}
      />
      {report.patterns.length > 0 && (
        <ul>
          {report.patterns.map((pattern) => (
            <li key={pattern.id}>
              {capital(pattern.kind)}
              {pattern.nature ? `, ${pattern.nature}` : ""}: {pattern.faults.length} faults, turns{" "}
              {pattern.first_revolution} to {pattern.last_revolution}
              {pattern.angle_deg === null ? "" : `, at ${degrees(pattern.angle_deg)}`}
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
