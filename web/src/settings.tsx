import { createContext } from "preact";
import { useContext } from "preact/hooks";
import type { Role, Session } from "./api";
import type { UnitSystem } from "./units";

/** What the whole page knows: who is here, the works' zone, and how amounts are written. */
export interface Settings {
  session: Session;
  zone: string;
  works: string;
  system: UnitSystem;
  set_system: (system: UnitSystem) => void;
}

export const SettingsContext = createContext<Settings>({
  session: { signed_in: false, first_start: false, name: null, roles: [], csrf: null, expires_ms: null },
  zone: "UTC",
  works: "",
  system: "metric",
  set_system: () => {},
});

export const use_settings = () => useContext(SettingsContext);

export function may(session: Session, ...roles: Role[]): boolean {
  return session.roles.some((role) => roles.includes(role));
}
