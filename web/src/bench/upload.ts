// Captures go to the server in pieces, each answered when it is safe on the disk; a break is taken up where it was.
import { type Api, ApiError, path, type Upload } from "../api";

export const piece_bytes = 8 * 1024 * 1024;

export interface Sending {
  name: string;
  ticket: string;
  letter: string;
  after: string;
}

/** Ticket and side as a file's name tells them: S-000002-1_A.wav. */
export function named(file_name: string): { ticket: string; letter: string } | null {
  const match = /^(.+)_([A-Za-z])(?:[._-].*)?$/.exec(file_name.replace(/\.[^.]+$/, ""));
  return match ? { ticket: match[1] as string, letter: (match[2] as string).toUpperCase() } : null;
}

const wait = (ms: number) => new Promise((done) => setTimeout(done, ms));

/**
 * Sends a file whole and returns the upload with its `job`. `open`: uploads that the server still waits for; one of the
 * same name, size and ticket is continued. Tries again when the server is not reached; gives up on a refusal.
 */
export async function send_capture(
  api: Pick<Api, "get" | "post" | "write">,
  file: Pick<File, "name" | "size" | "slice">,
  sending: Sending,
  open: readonly Upload[],
  on_progress: (offset: number) => void,
  signal: AbortSignal,
  patience_ms = 2000,
): Promise<Upload> {
  const same = (one: Upload) =>
    one.name === file.name &&
    one.bytes === file.size &&
    one.ticket === sending.ticket &&
    one.letter === sending.letter &&
    one.job === null;
  let upload =
    open.find(same) ??
    (await api.post<Upload>(path.uploads, {
      name: file.name,
      bytes: file.size,
      ticket: sending.ticket,
      letter: sending.letter,
      after: sending.after,
    }));
  on_progress(upload.offset);
  for (let tries = 0; upload.job === null; ) {
    if (signal.aborted) throw new DOMException("given up", "AbortError");
    const where = `${path.uploads}/${encodeURIComponent(upload.id)}`;
    try {
      const piece = file.slice(upload.offset, Math.min(upload.offset + piece_bytes, file.size));
      const headers = { "Content-Type": "application/octet-stream", "Upload-Offset": String(upload.offset) };
      upload = await api.write<Upload>(where, "PATCH", piece, headers, signal);
      tries = 0;
    } catch (error) {
      const lost = error instanceof ApiError && (error.status === 0 || error.status === 409 || error.status >= 502);
      if (!lost || ++tries > 60) throw error;
      await wait(patience_ms);
      try {
        upload = await api.get<Upload>(where);
      } catch (again) {
        if (!(again instanceof ApiError) || again.status !== 0) throw again;
      }
    }
    on_progress(upload.offset);
  }
  return upload;
}
