import { useEffect, useState } from "preact/hooks";

/** Where the page is: the path in pieces and its query. */
export interface Place {
  path: string[];
  query: URLSearchParams;
}

export function place_of(location: { pathname: string; search: string }): Place {
  const path = location.pathname
    .split("/")
    .filter(Boolean)
    .map((piece) => {
      try {
        return decodeURIComponent(piece);
      } catch {
        return piece;
      }
    });
  return { path, query: new URLSearchParams(location.search) };
}

export function href(...pieces: (string | number)[]): string {
  return `/${pieces.map((piece) => encodeURIComponent(String(piece))).join("/")}`;
}

const changed = "goodside-place";

export function go(to: string, replace = false): void {
  if (replace) history.replaceState(null, "", to);
  else history.pushState(null, "", to);
  dispatchEvent(new Event(changed));
}

/** Follows the address; a plain click on a link of the page's own does not load it anew. */
export function use_place(): Place {
  const [place, set_place] = useState(() => place_of(location));
  useEffect(() => {
    const follow = () => set_place(place_of(location));
    const click = (event: MouseEvent) => {
      if (
        event.defaultPrevented ||
        event.button !== 0 ||
        event.metaKey ||
        event.ctrlKey ||
        event.shiftKey ||
        event.altKey
      )
        return;
      const link = (event.target as Element | null)?.closest?.("a[href]");
      if (!(link instanceof HTMLAnchorElement) || link.target || link.hasAttribute("download")) return;
      if (link.origin !== location.origin || link.pathname.startsWith("/api/") || link.hash) return;
      event.preventDefault();
      go(link.pathname + link.search);
      scrollTo(0, 0);
    };
    addEventListener("popstate", follow);
    addEventListener(changed, follow);
    document.addEventListener("click", click);
    return () => {
      removeEventListener("popstate", follow);
      removeEventListener(changed, follow);
      document.removeEventListener("click", click);
    };
  }, []);
  return place;
}
