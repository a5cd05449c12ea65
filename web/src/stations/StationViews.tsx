import type { StationName } from "../api";
import { capital } from "../units";
import { station_homes, station_order, views } from "./places";

/** Under the line: the views of the station where one is, and the stations before and after it. */
export function StationViews({ station, path }: { station: StationName | "works"; path: string }) {
  const at = station_order.indexOf(station as StationName);
  const before = at > 0 ? station_order[at - 1] : station === "works" ? undefined : "works";
  const after = station_order[at + 1];
  const name = (one: StationName | "works") => (one === "works" ? "Works" : capital(one));
  return (
    <nav class="station-views" aria-label={station === "works" ? "Views of the works" : `Views of ${station}`}>
      {before && (
        <a class="beside" href={station_homes[before]} rel="prev">
          <span aria-hidden="true">‹ </span>
          {name(before)}
        </a>
      )}
      <ul>
        {views
          .filter((view) => view.station === station)
          .map((view) => (
            <li key={view.path}>
              <a href={view.path} aria-current={view.path === path ? "page" : undefined}>
                {view.words}
              </a>
            </li>
          ))}
      </ul>
      {after && (
        <a class="beside" href={station_homes[after]} rel="next">
          {name(after)}
          <span aria-hidden="true"> ›</span>
        </a>
      )}
    </nav>
  );
}
