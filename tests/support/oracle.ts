// Other people's programs as judges of our files. None of them is needed to run the product.
import { execFileSync, spawnSync } from "node:child_process";
import { readdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

/** Whether a program is on this machine; a test without its judge is skipped under the judge's name, never passed. */
export const has = (program: string): boolean => spawnSync("sh", ["-c", `command -v ${program}`]).status === 0;

/** Whether Debian's python has a module. */
export const hasPython = (module: string): boolean =>
  spawnSync("/usr/bin/python3", ["-c", `import ${module}`]).status === 0;

/** A folder for the length of one call. */
export const inFolder = <T>(use: (at: (name: string) => string) => T): T => {
  const folder = mkdtempSync(join(tmpdir(), "kitforme-"));
  try {
    return use((name) => join(folder, name));
  } finally {
    rmSync(folder, { recursive: true });
  }
};

/** What a program prints about one file; its failure is the test's failure, with its own words. */
export const says = (program: string, args: (file: string) => readonly string[], bytes: Uint8Array, name = "in.pdf") =>
  inFolder((at) => {
    writeFileSync(at(name), bytes);
    return execFileSync(program, args(at(name)), { encoding: "utf8", stdio: ["ignore", "pipe", "pipe"] });
  });

/** A grid of samples, rows from the top, `channels` a pixel. */
export interface Pixels {
  readonly width: number;
  readonly height: number;
  readonly channels: number;
  readonly data: Uint8Array;
}

/** Binary PGM or PPM, 8 bits. */
export const readPnm = (bytes: Uint8Array): Pixels => {
  const head = /^P([56])\s+(?:#.*\s+)*(\d+)\s+(\d+)\s+255\s/.exec(
    Buffer.from(bytes.subarray(0, 200)).toString("latin1"),
  );
  if (!head) throw new Error("not an 8-bit PGM or PPM");
  return {
    width: Number(head[2]),
    height: Number(head[3]),
    channels: head[1] === "5" ? 1 : 3,
    data: bytes.subarray(head[0].length),
  };
};

/** A page as poppler draws it, RGB. */
export const poppler = (pdf: Uint8Array, ppi: number, page = 1): Pixels =>
  inFolder((at) => {
    writeFileSync(at("in.pdf"), pdf);
    execFileSync("pdftoppm", ["-r", `${ppi}`, "-f", `${page}`, "-singlefile", at("in.pdf"), at("out")], {
      stdio: "pipe",
    });
    return readPnm(readFileSync(at("out.ppm")));
  });

/** The first page as mutool draws it, RGB. */
export const mutool = (pdf: Uint8Array, ppi: number): Pixels =>
  inFolder((at) => {
    writeFileSync(at("in.pdf"), pdf);
    execFileSync("mutool", ["draw", "-q", "-r", String(ppi), "-o", at("out.ppm"), at("in.pdf"), "1"], {
      stdio: "pipe",
    });
    return readPnm(readFileSync(at("out.ppm")));
  });

/** The first page as Ghostscript draws it, RGB, edges smoothed. */
export const ghostscript = (pdf: Uint8Array, ppi: number): Pixels =>
  inFolder((at) => {
    writeFileSync(at("in.pdf"), pdf);
    const args = ["-q", "-dNOPAUSE", "-dBATCH", "-dGraphicsAlphaBits=4", "-sDEVICE=ppmraw", `-r${ppi}`];
    execFileSync("gs", [...args, `-sOutputFile=${at("out.ppm")}`, at("in.pdf")], { stdio: "pipe" });
    return readPnm(readFileSync(at("out.ppm")));
  });

/** Ink plates by Ghostscript, uncompressed TIFF of 8 bits: 0 is solid ink and 255 is paper. Separations by their names. */
export const plates = (pdf: Uint8Array, ppi: number): Readonly<Record<string, Pixels>> =>
  inFolder((at) => {
    writeFileSync(at("in.pdf"), pdf);
    const args = ["-q", "-dNOPAUSE", "-dBATCH", "-sDEVICE=tiffsep", "-sCompression=none", `-r${ppi}`];
    execFileSync("gs", [...args, `-sOutputFile=${at("out.tif")}`, at("in.pdf")], { stdio: "pipe" });
    const names = readdirSync(at("."))
      .map((file) => /^out\((.+)\)\.tif$/.exec(file)?.[1])
      .filter((name) => name !== undefined);
    return Object.fromEntries(names.map((name) => [name, readTiff(readFileSync(at(`out(${name}).tif`)))]));
  });

/** Grey, 8 bits, uncompressed strips: what tiffsep writes. */
const readTiff = (file: Buffer): Pixels => {
  const little = file.toString("latin1", 0, 2) === "II";
  const u16 = (p: number): number => (little ? file.readUInt16LE(p) : file.readUInt16BE(p));
  const u32 = (p: number): number => (little ? file.readUInt32LE(p) : file.readUInt32BE(p));
  const directory = u32(4);
  const tags = new Map<number, number[]>();
  for (let i = 0; i < u16(directory); i++) {
    const entry = directory + 2 + i * 12;
    const [size, read] = u16(entry + 2) === 3 ? [2, u16] : [4, u32];
    const count = u32(entry + 4);
    const at = size * count <= 4 ? entry + 8 : u32(entry + 8);
    tags.set(
      u16(entry),
      Array.from({ length: count }, (_, k) => read(at + k * size)),
    );
  }
  const [offsets = [], lengths = []] = [tags.get(273), tags.get(279)];
  const data = Buffer.concat(offsets.map((o, i) => file.subarray(o, o + (lengths[i] ?? 0))));
  return { width: tags.get(256)?.[0] ?? 0, height: tags.get(257)?.[0] ?? 0, channels: 1, data };
};

/** The samples at a place of the sheet, millimetres from its lower-left corner. */
export const sampleAt = ({ width, height, channels, data }: Pixels, ppi: number, x: number, y: number): number[] => {
  const column = Math.min(width - 1, Math.floor((x * ppi) / 25.4));
  const row = Math.min(height - 1, height - 1 - Math.floor((y * ppi) / 25.4));
  return [...data.subarray((row * width + column) * channels, (row * width + column + 1) * channels)];
};
