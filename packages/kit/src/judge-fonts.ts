import { badPath } from "./guard.ts";
import type { Profiles } from "./judge-profile.ts";
import type { Finding } from "./problem.ts";
import { say } from "./say.ts";

const FILE = "shop.json";

/** The shop's fonts: all there. What is in them is seen where a text is set. */
export const judgedFonts = (fonts: readonly string[], beside: Profiles): Finding[] =>
  fonts.flatMap((file, i) => {
    if (beside[file]) return [];
    const outside = badPath(file);
    return [
      say(
        "shop-font-missing",
        { file: FILE, field: `fonts.${i}` },
        { file, ...(outside ? { why: `the path ${outside}` } : {}) },
      ),
    ];
  });
