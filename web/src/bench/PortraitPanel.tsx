import type { ComponentChildren } from "preact";
import { useEffect, useMemo, useState } from "preact/hooks";
import { path } from "../api";
import type { Fault, HeardSide } from "../contracts";
import { use_kept } from "../hooks";
import type { PortraitOptions } from "../portrait/sitting";
import { is_mirrored, type View, views } from "../portrait/geometry";
import { Portrait } from "../portrait/Portrait";
import { use_settings } from "../settings";
import { capital } from "../units";
import { Legends } from "./Legends";

type Face = Pick<PortraitOptions, "view" | "landmark_angle_deg" | "shrinkage">;

/** The disc, the view that is chosen, and `children` beneath it: the same side in time. */
export function PortraitPanel(props: {
  report: HeardSide;
  view: View;
  set_view: (view: View) => void;
  chosen: Fault | null;
  choose: (fault: Fault) => void;
  playing_programme_s: number | null;
  stamper: string | null;
  children: ComponentChildren;
}) {
  const { report, view } = props;
  const { system } = use_settings();
  // A landmark is scribed on one stamper; the shrinkage is the compound's.
  const [landmark, set_landmark] = use_kept<string>(`landmark.${props.stamper ?? ""}`, "0");
  const [shrinkage, set_shrinkage] = use_kept<string>("shrinkage", "0");
  const face: Face = {
    view,
    landmark_angle_deg: Number(landmark) || 0,
    shrinkage: Math.min(Math.max(Number(shrinkage) || 0, 0), 4.9) / 100,
  };
  const legends = useMemo(() => <Legends report={report} />, [report]);
  return (
    <section aria-label="Portrait" class="portrait-part">
      <fieldset class="choices">
        <legend class="unseen">What is looked at</legend>
        {views.map((one) => (
          <label key={one} class="choice">
            <input type="radio" name="view" checked={view === one} onChange={() => props.set_view(one)} />{" "}
            {capital(one)}
          </label>
        ))}
      </fieldset>
      <Portrait
        report={report}
        {...face}
        system={system}
        chosen={props.chosen}
        on_choose={props.choose}
        playing_programme_s={props.playing_programme_s}
        most={use_tallest()}
      />
      {props.children}
      <p class="quiet">
        {is_mirrored(view)
          ? "Mirrored, as the metal lies face up."
          : "As heard: the disc turns clockwise, so programme runs the other way round."}
      </p>
      {legends}
      <details>
        <summary>Turn it, shrinkage, save</summary>
        <div class="fields">
          <label>
            Groove angle at the top, °
            <input
              type="number"
              step="1"
              value={landmark}
              onChange={(event) => set_landmark(event.currentTarget.value)}
            />
          </label>
          <label>
            Shrinkage of the compound, %
            <input
              type="number"
              min="0"
              max="4.9"
              step="0.05"
              value={shrinkage}
              onChange={(event) => set_shrinkage(event.currentTarget.value)}
            />
          </label>
        </div>
        <p class="tools">
          Save for paper, notch at the top:{" "}
          {(["SVG", "PNG", "PDF"] as const).map((format) => (
            <a
              key={format}
              download={`${report.report}-${view}.${format.toLowerCase()}`}
              href={path.picture(report.report, view, format)}
            >
              portrait as {format}
            </a>
          ))}
        </p>
        <p class="tools">
          And the side in time:{" "}
          {(["SVG", "PNG", "PDF"] as const).map((format) => (
            <a
              key={format}
              download={`${report.report}-strip.${format.toLowerCase()}`}
              href={path.strip(report.report, format)}
            >
              strip as {format}
            </a>
          ))}
        </p>
      </details>
    </section>
  );
}

/** The portrait leaves room for the strip beneath it on the same screen. */
function use_tallest(): number {
  const measure = () => Math.min(Math.max(innerHeight - 455, 340), 1400);
  const [tallest, set_tallest] = useState(measure);
  useEffect(() => {
    const follow = () => set_tallest(measure());
    addEventListener("resize", follow);
    return () => removeEventListener("resize", follow);
  }, []);
  return tallest;
}
