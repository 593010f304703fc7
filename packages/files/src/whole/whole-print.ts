import { createHash } from "node:crypto";
import {
  PDFArray,
  PDFContext,
  PDFDict,
  PDFDocument,
  PDFName,
  type PDFObject,
  PDFRawStream,
  PDFRef,
} from "../pdf-lib.ts";
import { identify } from "../pdf/identify.ts";

/** The page tree's number: pages name it before it can be written. */
const TREE = 1;

const bytesOf = (text: string): Buffer => Buffer.from(text, "latin1");

/** An object of a source without its number: text, and what a stream holds. References in it are the new file's. */
interface Body {
  readonly text: string;
  readonly stream?: Uint8Array;
}

/**
 * Print PDFs of sheets joined to one file, a page after the other, written as they come: what several sheets have in common
 * (pictures, forms, profiles) is in it once, known by its bytes. Nothing is kept but where objects lie and what they hash to, so memory
 * does not grow with the sheets' content.
 */
export class WholePrint {
  readonly #title: string;
  readonly #append: (bytes: Uint8Array) => Promise<void>;
  readonly #hash = createHash("sha256");
  /** Where objects begin, by number less 1. */
  readonly #offsets: number[] = [0];
  readonly #known = new Map<string, number>();
  readonly #pages: number[] = [];
  readonly #layers = new Map<number, boolean>();
  #chunks: Uint8Array[] = [];
  #at = 0;
  #intents: string | undefined;

  /** @param append lays bytes at the end of the file */
  constructor(title: string, append: (bytes: Uint8Array) => Promise<void>) {
    this.#title = title;
    this.#append = append;
    // Four bytes above 127 tell transfer programs that the file is binary (ISO 32000, 7.5.2).
    this.#lay(Buffer.from("%PDF-1.6\n%\x81\x81\x81\x81\n\n", "latin1"));
  }

  /** Pages so far. */
  get pages(): number {
    return this.#pages.length;
  }

  /**
   * Adds the pages of a print PDF that `writePrint` wrote.
   * @returns the number of the first, from 1
   */
  async add(print: Uint8Array): Promise<number> {
    const document = await PDFDocument.load(print, { updateMetadata: false });
    const first = this.#pages.length + 1;
    const { catalog, context } = document;
    const layers = catalog.lookupMaybe(PDFName.of("OCProperties"), PDFDict);
    const setting = layers?.lookupMaybe(PDFName.of("D"), PDFDict);
    const off = setting?.lookupMaybe(PDFName.of("OFF"), PDFArray)?.asArray() ?? [];
    const copy = this.#copier(context, new Set(off.map(String)));
    const intents = catalog.get(PDFName.of("OutputIntents"));
    const said = intents ? copy.value(intents) : "";
    if (this.#intents !== undefined && this.#intents !== said)
      throw new Error("sheets of two printing conditions came into one file");
    this.#intents = said;
    for (const layer of layers?.lookupMaybe(PDFName.of("OCGs"), PDFArray)?.asArray() ?? [])
      if (layer instanceof PDFRef) this.#layers.set(copy.place(layer), off.includes(layer));
    for (const { node } of document.getPages()) {
      const entries = node.entries().filter(([key]) => key !== PDFName.of("Parent"));
      const text = [
        ...entries.map(([key, value]) => `${key.toString()} ${copy.value(value)}`),
        `/Parent ${TREE} 0 R`,
      ].join("\n");
      this.#pages.push(this.#write({ text: `<<\n${text}\n>>` }));
    }
    await this.#flush();
    return first;
  }

  /** Writes what a file needs besides its pages. @returns its length and its SHA-256, hexadecimal */
  async end(): Promise<{ readonly bytes: number; readonly sha256: string }> {
    const kids = this.#pages.map((page) => `${page} 0 R`).join("\n");
    this.#write({ text: `<<\n/Type /Pages\n/Count ${this.#pages.length}\n/Kids [\n${kids}\n]\n>>` }, TREE);
    // The same pages have the same name, and no other file has.
    const id = this.#hash.copy().digest("hex").slice(0, 32);
    const own = PDFContext.create();
    const { info, metadata } = identify(own, this.#title, this.#intents !== "", id);
    const copy = this.#copier(own, new Set());
    const layers = [...this.#layers.keys()].map((layer) => `${layer} 0 R`).join(" ");
    const hidden = [...this.#layers].flatMap(([layer, off]) => (off ? [`${layer} 0 R`] : [])).join(" ");
    const catalog = [
      "/Type /Catalog",
      `/Pages ${TREE} 0 R`,
      `/Metadata ${copy.place(metadata)} 0 R`,
      ...(this.#intents ? [`/OutputIntents ${this.#intents}`] : []),
      ...(layers
        ? [
            `/OCProperties << /OCGs [ ${layers} ] /D << /Name (Layers) /BaseState /ON /Order [ ${layers} ] /OFF [ ${hidden} ] >> >>`,
          ]
        : []),
    ];
    const root = this.#write({ text: `<<\n${catalog.join("\n")}\n>>` });
    const about = copy.place(info);
    const table = this.#at;
    const rows = this.#offsets.map((at) => `${String(at).padStart(10, "0")} 00000 n \n`).join("");
    const size = this.#offsets.length + 1;
    this.#lay(bytesOf(`xref\n0 ${size}\n0000000000 65535 f \n${rows}`));
    const trailer = `/Size ${size}\n/Root ${root} 0 R\n/Info ${about} 0 R\n/ID [ <${id}> <${id}> ]`;
    this.#lay(bytesOf(`\ntrailer\n<<\n${trailer}\n>>\nstartxref\n${table}\n%%EOF`));
    await this.#flush();
    return { bytes: this.#at, sha256: this.#hash.digest("hex") };
  }

  /** Takes objects of one source over. */
  #copier(context: PDFContext, off: ReadonlySet<string>) {
    const placed = new Map<string, number>();
    const open = new Set<string>();
    const place = (ref: PDFRef): number => {
      const tag = ref.toString();
      const known = placed.get(tag);
      if (known !== undefined) return known;
      if (open.has(tag)) {
        // It refers to itself by way of others: it gets its number before its content is known.
        const number = this.#offsets.push(0);
        placed.set(tag, number);
        return number;
      }
      open.add(tag);
      const object = context.lookup(ref);
      const body: Body =
        object instanceof PDFRawStream
          ? { text: value(object.dict), stream: object.getContents() }
          : { text: object ? value(object) : "null" };
      const early = placed.get(tag);
      const number = early === undefined ? this.#once(body, off.has(tag)) : this.#write(body, early);
      placed.set(tag, number);
      return number;
    };
    const value = (object: PDFObject): string => {
      if (object instanceof PDFRef) return `${place(object)} 0 R`;
      if (object instanceof PDFArray) return `[ ${object.asArray().map(value).join(" ")} ]`;
      if (object instanceof PDFDict)
        return `<<\n${object
          .entries()
          .map(([key, one]) => `${key.toString()} ${value(one)}\n`)
          .join("")}>>`;
      return object.toString();
    };
    return { place, value };
  }

  /** An object that may be in the file already. Layers that are shown and layers that are hidden are two, whatever their name. */
  #once(body: Body, off: boolean): number {
    const hash = createHash("sha256").update(`${off ? "off" : "on"} ${body.stream ? "stream" : "plain"}\n`);
    hash.update(body.text, "latin1");
    if (body.stream) hash.update(body.stream);
    const key = hash.digest("base64");
    const number = this.#known.get(key) ?? this.#write(body);
    this.#known.set(key, number);
    return number;
  }

  #write({ text, stream }: Body, number = this.#offsets.push(0)): number {
    this.#offsets[number - 1] = this.#at;
    this.#lay(bytesOf(`${number} 0 obj\n${text}\n`));
    if (stream) for (const part of [bytesOf("stream\n"), stream, bytesOf("\nendstream\n")]) this.#lay(part);
    this.#lay(bytesOf("endobj\n\n"));
    return number;
  }

  #lay(bytes: Uint8Array): void {
    this.#hash.update(bytes);
    this.#chunks.push(bytes);
    this.#at += bytes.length;
  }

  async #flush(): Promise<void> {
    const chunks = this.#chunks;
    this.#chunks = [];
    await this.#append(Buffer.concat(chunks));
  }
}
