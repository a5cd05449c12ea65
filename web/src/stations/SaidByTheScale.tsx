import { fixed } from "../units";
import type { AfterProps } from "./describe";

interface Line {
  ingredient: string;
  charge: number;
  weigh_kg: number;
  tolerance_kg: number;
  lot: string;
  hazard: string;
}

/** The weigh-up as it is worked off: beside each ingredient what the scale said. */
export function SaidByTheScale({ answer, values, set, calculate }: AfterProps) {
  const lines = (answer.result.weigh_up?.lines ?? []) as Line[];
  if (lines.length === 0) return null;
  const said = (values.said as string[] | undefined) ?? [];
  const of = (ingredient: string) =>
    said
      .find((row) => row.startsWith(`${ingredient}=`))
      ?.slice(ingredient.length + 1)
      .replace(/\s*kg$/, "") ?? "";
  const tell = (ingredient: string, text: string) => {
    const others = said.filter((row) => !row.startsWith(`${ingredient}=`));
    const kilograms = text.trim().replace(",", ".");
    set("said", kilograms === "" ? others : [...others, `${ingredient}=${kilograms} kg`]);
  };
  return (
    <form
      class="scale"
      aria-label="What the scale said"
      onSubmit={(event) => {
        event.preventDefault();
        calculate();
      }}
    >
      <h3>Weigh in, and enter what the scale said</h3>
      <div class="table-scroll" tabIndex={0} role="group" aria-label="Weigh-up">
        <table>
          <thead>
            <tr>
              <th scope="col">Ingredient</th>
              <th scope="col" class="figure">
                Weigh, kg
              </th>
              <th scope="col">Scale said, kg</th>
            </tr>
          </thead>
          <tbody>
            {lines.map((one) => (
              <tr key={one.ingredient}>
                <th scope="row">
                  {one.ingredient}
                  {one.lot && <span class="quiet"> {one.lot}</span>}
                  {one.hazard && <b> {one.hazard}</b>}
                </th>
                <td class="figure">
                  {fixed(one.weigh_kg, 3)}
                  <span class="quiet"> ±{fixed(one.tolerance_kg * 1e3, 1)} g</span>
                </td>
                <td>
                  <input
                    type="text"
                    inputMode="decimal"
                    autocomplete="off"
                    class="scale-input"
                    aria-label={`The scale said for ${one.ingredient}, kg`}
                    value={of(one.ingredient)}
                    onInput={(event) => tell(one.ingredient, event.currentTarget.value)}
                  />
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p class="acts">
        <button type="submit" class="main" disabled={said.length === 0}>
          Check the weighing
        </button>
        {said.length > 0 && (
          <button type="button" class="quiet" onClick={() => set("said", [])}>
            Empty what the scale said
          </button>
        )}
      </p>
    </form>
  );
}
