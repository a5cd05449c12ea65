import { api } from "../api";
import type { Calculated, GivenFile } from "./describe";

const code = encodeURIComponent;
export const calculation_path = {
  all: "/api/calculations",
  one: (name: string) => `/api/calculations/${code(name)}`,
  log: (name: string) => `/api/calculations/${code(name)}/log`,
  files: (name: string) => `/api/calculations/files?name=${code(name)}`,
  undo: (entry: number) => `/api/entries/${entry}/undo`,
};

export type Options = Record<string, string | boolean | string[]>;

export const calculate = (name: string, options: Options) =>
  api.post<Calculated>(calculation_path.one(name), { options });

export const log = (name: string, options: Options, to: string) =>
  api.post<Calculated>(calculation_path.log(name), to === "" ? { options } : { options, to });

export const take_back = (entry: number, reason: string) =>
  api.post<{ entry: number }>(calculation_path.undo(entry), { reason });

export const give = (file: File) =>
  api.write<GivenFile>(calculation_path.files(file.name), "POST", file, { "Content-Type": "application/octet-stream" });

export const known_files = () => api.get<{ files: GivenFile[] }>(calculation_path.all).then(({ files }) => files);
