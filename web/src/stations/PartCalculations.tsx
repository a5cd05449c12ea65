const of_state: Record<string, readonly (readonly [name: string, words: string])[]> = {
  growing: [["plate", "Plating run"]],
  finishing: [
    ["plate", "Facing"],
    ["back", "Backing"],
    ["centre", "Centring"],
  ],
};

/** From a part's sheet to what is calculated for it as it stands; the answer is logged to it from there. */
export function PartCalculations({ code, state }: { code: string; state: string }) {
  const shown = of_state[state];
  if (!shown) return null;
  return (
    <section aria-label="Calculate for it">
      <h2>Calculate for it</h2>
      <p class="part-calculations">
        {shown.map(([name, words]) => (
          <a key={name} href={`/calculate/${name}?part=${encodeURIComponent(code)}`}>
            {words}
          </a>
        ))}
      </p>
    </section>
  );
}
