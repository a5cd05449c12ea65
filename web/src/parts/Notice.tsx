import type { ApiError } from "../api";

export function Problem({ error, again }: { error: ApiError; again?: () => void }) {
  return (
    <div class="problem" role="alert">
      <p>{error.message}</p>
      {again && (
        <button type="button" onClick={again}>
          Try again
        </button>
      )}
    </div>
  );
}

export function Waiting({ what }: { what: string }) {
  return (
    <p class="waiting" role="status">
      Fetching {what} …
    </p>
  );
}
