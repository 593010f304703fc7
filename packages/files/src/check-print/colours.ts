import { type PDFDict, PDFName } from "../pdf-lib.ts";
import type { Fault } from "./fault.ts";
import { dictAt, name, type PrintFile } from "./read-print.ts";

/** Operators and names that ask for a device's own colour, and what a page may define in its stead. */
const RGB = { operators: ["rg", "RG"], names: ["/DeviceRGB", "/RGB"], instead: "DefaultRGB", channels: 3 };
const CMYK = { operators: ["k", "K"], names: ["/DeviceCMYK", "/CMYK"], instead: "DefaultCMYK", channels: 4 };

/** Where a dictionary names a colour space. */
const KEYS = ["ColorSpace", "CS"];

/**
 * Device colours that the printing condition does not give a meaning: device RGB under a condition of four inks.
 *
 * @param channels of the printing condition
 */
export const colours = (file: PrintFile, channels: number | undefined): Fault[] =>
  [RGB, CMYK].filter((device) => device.channels !== channels).flatMap((device) => uses(file, device));

const uses = (file: PrintFile, { operators, names, instead }: typeof RGB): Fault[] => {
  const says = `${names[0]?.slice(1)} is used, which the printing condition does not define.`;
  const defined = (resources: PDFDict | undefined): boolean =>
    dictAt(resources, "ColorSpace")?.has(name(instead)) ?? false;
  // A picture may be used by any page: if one page has a space in the device's stead, pictures are that page's matter.
  const anywhere = file.programs.some(({ resources }) => defined(resources));
  // What a page blends in is a letter of its own.
  const blending = new Set(file.pages.map((page) => dictAt(page, "Group")));
  return [
    ...file.programs.flatMap(({ operations, resources, object }) =>
      !defined(resources) &&
      operations.some(
        ({ operator, operands, inline }) =>
          operators.includes(operator) ||
          ((operator === "cs" || operator === "CS") && names.includes(String(operands[0]))) ||
          inline?.some((one) => names.includes(String(one))),
      )
        ? [{ says, object }]
        : [],
    ),
    ...(anywhere
      ? []
      : file.dicts.flatMap(({ dict, object }) =>
          !blending.has(dict) &&
          KEYS.some((key) => {
            const space = dict.lookup(name(key));
            return space instanceof PDFName && names.includes(space.asString());
          })
            ? [{ says, object }]
            : [],
        )),
    ...(anywhere
      ? []
      : file.arrays.flatMap(({ array, object }) => {
          const [head, base] = [
            array.size() > 1 ? array.get(0) : undefined,
            array.size() > 1 ? array.lookup(1) : undefined,
          ];
          const indexed = head instanceof PDFName && ["/Indexed", "/Pattern"].includes(head.asString());
          return indexed && base instanceof PDFName && names.includes(base.asString()) ? [{ says, object }] : [];
        })),
  ];
};
