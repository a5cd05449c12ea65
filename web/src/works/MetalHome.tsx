import { use_data } from "../live";
import { href } from "../router";
import { asked } from "./api";

/** The families of metal, title by title. */
export function Families() {
  const { data } = use_data<{ titles: { code: string; name: string; artist: string | null }[] }>(asked.titles);
  return (
    <section aria-label="Families">
      <h2>Families of metal</h2>
      <ul class="stacks">
        {(data?.titles ?? []).map((one) => (
          <li key={one.code}>
            <a class="press-card" href={href("family", one.code)}>
              <b>{one.name}</b>
              <span class="quiet">{one.artist}</span>
              <span class="quiet">{one.code}</span>
            </a>
          </li>
        ))}
      </ul>
    </section>
  );
}
