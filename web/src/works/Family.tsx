import type { ComponentChildren } from "preact";
import { use_data } from "../live";
import { Shape, type State } from "../parts/State";
import { href } from "../router";
import { use_settings } from "../settings";
import { Loading, Subject } from "../subjects/Subject";
import { capital, count, instant } from "../units";
import { Flow } from "./Flow";
import { asked, type FamilyMember, type TitleParts } from "./api";

/** How a part stands, by its own state and by what was heard from it. */
export function part_state(part: Pick<FamilyMember, "state" | "heard" | "passed">): State {
  if (part.state === "scrapped") return "scrap";
  if (part.state === "withdrawn") return "out";
  if (part.heard > part.passed) return "suspect";
  return part.state === "growing" || part.state === "finishing" ? "unknown" : "good";
}

function evidence(part: FamilyMember, zone: string): string {
  const said = [
    part.closings > 0 ? count(part.closings, "closing") : "",
    part.heard > 0 ? `${part.passed} of ${part.heard} heard within limits` : "",
    part.last_step ? `${part.last_step.what} ${instant(part.last_step.at_ms, zone).slice(0, 10)}` : "",
    part.origin === "bought" ? "bought" : "",
  ];
  return said.filter(Boolean).join(" · ");
}

/** Parts below one another as they grew: the tree reads as a list, too. */
export interface Branch {
  part: FamilyMember;
  children: Branch[];
}
export function branches(parts: readonly FamilyMember[], parent: string | null): Branch[] {
  const known = new Set(parts.map((one) => one.code));
  return parts
    .filter((one) => (parent === null ? one.parent === null || !known.has(one.parent) : one.parent === parent))
    .sort((a, b) => (a.grown ?? 0) - (b.grown ?? 0) || a.code.localeCompare(b.code))
    .map((part) => ({ part, children: branches(parts, part.code) }));
}

function Tree({ branch }: { branch: Branch }): ComponentChildren {
  const { zone } = use_settings();
  const { part } = branch;
  return (
    <li>
      <a class="family-part" href={href("part", part.code)}>
        <Shape state={part_state(part)} size="1.25em" />
        <span>
          <b>
            {capital(part.kind)} {part.grown !== null && `${part.grown} `}
          </b>
          {part.code} <span class="family-state">{part.state}</span>
          <span class="quiet">{evidence(part, zone)}</span>
        </span>
      </a>
      {branch.children.length > 0 && (
        <ul>
          {branch.children.map((child) => (
            <Tree key={child.part.code} branch={child} />
          ))}
        </ul>
      )}
    </li>
  );
}

/** The metal of a title: what grew from what, each part's state, and what was pressed and heard from it. */
export function Family({ title }: { title: string }) {
  const data = use_data<TitleParts>(asked.parts(title));
  if (!data.data) return <Loading data={data} what="the family" />;
  const { name, parts, cuts } = data.data;
  const letters = [...new Set([...cuts.map((one) => one.letter), ...parts.map((one) => one.letter)])].sort();
  const ready = parts.filter((one) => one.kind === "stamper" && /ready|resting/.test(one.state)).length,
    on_press = parts.filter((one) => one.state === "on press").length,
    growing = parts.filter((one) => /growing|finishing/.test(one.state)).length;
  const worst: State = parts.some((one) => part_state(one) === "suspect")
    ? "suspect"
    : on_press + ready > 0
      ? "good"
      : "unknown";
  return (
    <Subject
      state={worst}
      what={
        <>
          Metal of <a href={href("title", title)}>{name}</a>
        </>
      }
      name={`${count(ready, "stamper")} ready`}
      stands={`${on_press} on a press · ${count(growing, "part")} growing or being finished · ${count(parts.length, "part")} in all`}
    >
      <Flow code={title} />
      {parts.length === 0 && <p class="quiet">No metal yet. A lacquer or wax of a cut is where a family begins.</p>}
      <p>
        <a class="touch" href={`/enter/part?title=${encodeURIComponent(title)}`}>
          Enter a part
        </a>{" "}
        <a class="touch" href="/enter/cut">
          Enter a cut
        </a>
      </p>
      <div class="families">
        {letters.map((letter) => (
          <section key={letter} aria-label={`Side ${letter}`}>
            <h2>Side {letter}</h2>
            {cuts
              .filter((one) => one.letter === letter)
              .map((one) => (
                <p key={one.code} class="quiet">
                  Cut <a href={href("thing", one.code)}>{one.code}</a> {one.reference}
                </p>
              ))}
            <ul class="family-tree">
              {branches(
                parts.filter((one) => one.letter === letter),
                null,
              ).map((branch) => (
                <Tree key={branch.part.code} branch={branch} />
              ))}
            </ul>
          </section>
        ))}
      </div>
    </Subject>
  );
}
