import type { Heard } from "../api";
import type { HeardSide } from "../contracts";
import { Shape, type State } from "../parts/State";
import { href } from "../router";
import { use_settings } from "../settings";
import {
  decibel,
  instant,
  signed,
  small_length,
  standing,
  type Standing,
  standing_words,
  type UnitSystem,
} from "../units";

const shapes: Record<Standing, State> = { good: "good", out: "out", not_this_cut: "out", unjudged: "unknown" };

function counts(report: HeardSide, system: UnitSystem): string {
  if (standing(report) === "not_this_cut") return "Wrong title, wrong side or another take";
  const plain = report.faults.filter((fault) => fault.audibility === "plain").length;
  return [
    `${plain} plain and ${report.faults.length - plain} slight faults`,
    report.offset.eccentricity_m === null ? null : `offset ${small_length(report.offset.eccentricity_m, system, 2)}`,
    report.alignment?.found ? `speed ${signed(report.alignment.speed_error_ppm * 1e-4, 2)}\u2009%` : null,
    report.noise.weighted_dB === null ? null : `noise ${decibel(report.noise.weighted_dB)}`,
  ]
    .filter(Boolean)
    .join(" · ");
}

/** What was heard, how it stands, and the way to its neighbours. */
export function Head({ report, heard }: { report: HeardSide; heard: Heard }) {
  const { system, zone } = use_settings();
  const { play } = heard;
  const [first, last] = play.impression;
  const stands = standing(report);
  return (
    <header class="subject">
      <p class="what">
        <a href={href("title", play.title)}>{heard.name}</a> · side {play.letter} · disc{" "}
        <a href={href("disc", play.run, first)}>
          {play.run}, impression {first === last ? first : `${first}–${last}`}
        </a>{" "}
        · ticket {play.ticket}
        {play.stamper && (
          <>
            {" "}
            · stamper <a href={href("part", play.stamper)}>{play.stamper}</a>
          </>
        )}{" "}
        · play {play.play}, {play.after} · heard {instant(play.at_ms, zone)}
      </p>
      <h1 class={`verdict verdict-${shapes[stands]}`}>
        <Shape state={shapes[stands]} size="1em" /> {standing_words[stands]}
      </h1>
      <nav aria-label="Neighbours" class="neighbours">
        {heard.previous && <a href={href("bench", heard.previous)}>← Disc before on this stamper</a>}
        {heard.next && <a href={href("bench", heard.next)}>Disc after on this stamper →</a>}
        {play.side && <a href={href("side", play.side)}>All discs of this side</a>}
        {play.side && <a href={href("trace", play.side)}>Trace of this side</a>}
        {play.side && heard.previous && (
          <a href={href("overlay", report.report, heard.previous)}>Lay over the disc before</a>
        )}
      </nav>
      <p class="counts">{counts(report, system)}</p>
    </header>
  );
}
