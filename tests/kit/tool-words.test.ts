// Names of inks that are for a tool, in the languages of the trade, and names that only look like them.
import { describe, expect, it } from "vitest";
import { namesTool } from "@kitforme/kit";

describe("namesTool", () => {
  it.each([
    ...["Cut", "cut line", "CutLine 1", "Die line", "DIE", "die-cut", "Crease", "FOLD", "Kiss cut", "Perforation"],
    ...["Stanze", "Stanzkontur", "Stanzform_2", "Schnitt", "Rillung", "Falz", "Kontur"],
    ...["découpe", "Decoupe", "coupe_1", "rainage", "pli", "troquel", "corte", "hendido", "fustella", "taglio", "faca"],
    ...["vinco", "stans", "snijlijn", "skjæring", "bigning", "wykrojnik", "cięcie", "výsek", "ořez", "vágás", "bıçak"],
    ...["вырубка", "Высечка", "биговка", "контур", "刀模", "模切线", "抜き型", "カットライン", "칼선", "قص"],
  ])("%s", (name) => expect(namesTool(name)).toBe(true));
  it.each([
    ...[
      "Gold",
      "Cute pink",
      "Warm red 2",
      "Orange 021",
      "Scarlet",
      "Bigarreau",
      "Profond",
      "Varnish",
      "White",
      "Black",
    ],
    ...["Executive blue", "Corteza", "Silver", "Diesel", "Plisse", "Goldfold2x", "ножка", "红色", "金"],
  ])("%s is an ink", (name) => expect(namesTool(name)).toBe(false));
});
