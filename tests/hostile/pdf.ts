// PDFs made to hurt, written by hand: a document's objects in, bytes with a right cross-reference table out.
import { deflateSync } from "node:zlib";

type Content = string | Buffer;
const latin = (content: Content): Buffer => (typeof content === "string" ? Buffer.from(content, "latin1") : content);

/** A stream object. */
export const stream = (dictionary: string, content: Content): Buffer => {
  const body = latin(content);
  return Buffer.concat([latin(`<< ${dictionary} /Length ${body.length} >>\nstream\n`), body, latin("\nendstream")]);
};

/** A stream packed so many times over. */
export const packed = (dictionary: string, content: Content, times = 1): Buffer => {
  let body = latin(content);
  for (let i = 0; i < times; i++) body = deflateSync(body, { level: 9 });
  const filters = Array.from({ length: times }, () => "/FlateDecode").join(" ");
  return stream(`${dictionary} /Filter [${filters}]`, body);
};

/** Objects 1, 2, 3 ... to a file; the first is the catalogue. */
export const pdf = (objects: readonly Content[], trailer = ""): Uint8Array => {
  const parts: Buffer[] = [latin("%PDF-1.7\n")];
  let at = 9;
  const offsets = objects.map((object, i) => {
    const body = Buffer.concat([latin(`${i + 1} 0 obj\n`), latin(object), latin("\nendobj\n")]);
    parts.push(body);
    at += body.length;
    return at - body.length;
  });
  const rows = offsets.map((offset) => `${String(offset).padStart(10, "0")} 00000 n \n`).join("");
  parts.push(
    latin(
      `xref\n0 ${objects.length + 1}\n0000000000 65535 f \n${rows}trailer\n<< /Size ${objects.length + 1} /Root 1 0 R ${trailer} >>\nstartxref\n${at}\n%%EOF\n`,
    ),
  );
  return new Uint8Array(Buffer.concat(parts));
};

export const CATALOGUE = "<< /Type /Catalog /Pages 2 0 R >>";
export const PAGES = "<< /Type /Pages /Kids [3 0 R] /Count 1 >>";

/** A page of 60 x 40 mm with these contents and resources; objects from 5 on are the caller's. */
export const page = (contents: Content, resources = "", more: readonly Content[] = [], box = "0 0 170.08 113.39") =>
  pdf([
    CATALOGUE,
    PAGES,
    `<< /Type /Page /Parent 2 0 R /MediaBox [${box}] /Contents 4 0 R /Resources << ${resources} >> >>`,
    typeof contents === "string" ? stream("", contents) : contents,
    ...more,
  ]);

const FORM = "/Type /XObject /Subtype /Form /BBox [0 0 200 200]";

/** A form that draws itself: it has no end. */
export const selfCalling = (): Uint8Array =>
  page("0.2 0.5 0.6 rg 0 0 170 113 re f /F Do", "/XObject << /F 5 0 R >>", [
    stream(`${FORM} /Resources << /XObject << /F 5 0 R >> >>`, "0 0 50 50 re f /F Do /F Do"),
  ]);

/** Forms that draw each other. */
export const circling = (): Uint8Array =>
  page("/A Do", "/XObject << /A 5 0 R >>", [
    stream(`${FORM} /Resources << /XObject << /B 6 0 R >> >>`, "/B Do /B Do"),
    stream(`${FORM} /Resources << /XObject << /A 5 0 R >> >>`, "/A Do 1 0 0 rg 0 0 9 9 re f"),
  ]);

/** Twenty levels of ten forms each: 10^20 squares in 3 kB. */
export const multiplying = (levels = 20): Uint8Array =>
  page("/F5 Do", "/XObject << /F5 5 0 R >>", [
    ...Array.from({ length: levels }, (_, i) =>
      stream(`${FORM} /Resources << /XObject << /N ${6 + i} 0 R >> >>`, "/N Do ".repeat(10)),
    ),
    stream(FORM, "0 0 5 5 re f"),
  ]);

/** So many small paths. */
export const paths = (count: number): Uint8Array =>
  page(
    packed(
      "",
      Array.from(
        { length: count },
        (_, i) => `${i % 170} ${(i * 7) % 113} m ${(i * 3) % 170} ${i % 113} 9 9 5 ${i % 50} c S`,
      ).join("\n"),
    ),
  );
