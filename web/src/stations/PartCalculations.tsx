/** From a part's sheet to what is calculated for it; the answer is logged to it from there. */
export function PartCalculations({ code }: { code: string }) {
  return (
    <section aria-label="Calculate for it">
      <h2>Calculate for it</h2>
      <p class="part-calculations">
        {[
          ["plate", "Plating run"],
          ["back", "Backing"],
          ["centre", "Centring"],
        ].map(([name, words]) => (
          <a key={name} href={`/calculate/${name}?part=${encodeURIComponent(code)}`}>
            {words}
          </a>
        ))}
      </p>
    </section>
  );
}
