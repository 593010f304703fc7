/** Media types of what a job folder holds (IANA's registry, from memory). */
const TYPES: Readonly<Record<string, string>> = {
  pdf: "application/pdf",
  svg: "image/svg+xml",
  dxf: "image/vnd.dxf",
  hpgl: "application/vnd.hp-hpgl",
  png: "image/png",
  json: "application/json",
  html: "text/html; charset=utf-8",
  txt: "text/plain; charset=utf-8",
  xjdf: "application/vnd.cip4-xjdf+xml",
  zip: "application/zip",
};

export const typeOf = (name: string): string =>
  TYPES[name.slice(name.lastIndexOf(".") + 1).toLowerCase()] ?? "application/octet-stream";
