/** States are shape and word first, colour last. */
export type State = "good" | "out" | "suspect" | "unknown" | "scrap" | "shipped";

export const state_words: Record<State, string> = {
  good: "good",
  out: "out",
  suspect: "suspect",
  unknown: "not yet known",
  scrap: "scrap",
  shipped: "shipped",
};

/** Filled circle, filled triangle, hatched square, open circle, crossed square, circle with a bar. */
export function Shape({ state, size = "1em" }: { state: State; size?: string }) {
  return (
    <svg class={`shape shape-${state}`} viewBox="0 0 20 20" width={size} height={size} aria-hidden="true">
      {state === "good" && <circle cx="10" cy="10" r="8" fill="currentColor" />}
      {state === "out" && <path d="M10 1.5 19 18H1Z" fill="currentColor" />}
      {state === "suspect" && (
        <path
          d="M2 2h16v16H2ZM2 8 8 2M2 13 13 2M2 18 18 2M7 18 18 7M12 18l6-6"
          fill="none"
          stroke="currentColor"
          stroke-width="1.6"
        />
      )}
      {state === "unknown" && <circle cx="10" cy="10" r="7.5" fill="none" stroke="currentColor" stroke-width="2" />}
      {state === "scrap" && (
        <path d="M2 2h16v16H2ZM2 2l16 16M18 2 2 18" fill="none" stroke="currentColor" stroke-width="1.8" />
      )}
      {state === "shipped" && (
        <path
          d="M10 2.5a7.5 7.5 0 1 1 0 15a7.5 7.5 0 1 1 0-15ZM0 10h20"
          fill="none"
          stroke="currentColor"
          stroke-width="2"
        />
      )}
    </svg>
  );
}

export function StateWord({ state, words }: { state: State; words?: string }) {
  return (
    <span class={`state state-${state}`}>
      <Shape state={state} /> {words ?? state_words[state]}
    </span>
  );
}
