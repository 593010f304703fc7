// What people of the trade call the ink of a die line, in the languages they write it in. Words of the language only: no
// program's own names.

/** Words that stand alone: too short, or too much like others, to be looked for inside longer ones. */
const WHOLE = new Set(
  [
    "cut cuts cutting cutter cutline cutlines cutpath die dieline dielines diecut knife crease creases creasing fold folds",
    "folding perf perforation score scoring",
    "schnitt schnittlinie schneiden kontur rillen rillung falz falzen nuten",
    "coupe decoupe pli plis pliage rainage rainer",
    "corte cortar plegado hendido doblez faca vinco vincos",
    "taglio piega pieghe cordonatura",
    "snijden snijlijn snijvorm ril rillen vouw vouwlijn stans stansen",
    "skjaer skjaering skaer stanse big bigning falsing fals",
    "ciecie bigowanie bigi vysek orez bigovani vagas stancolas bicak kesim leikkaus",
    "высечка вырубка резка рез контур биговка сгиб перфорация нож",
    "قص تكسير",
  ]
    .join(" ")
    .split(" "),
);
/** Beginnings of words that say nothing else. */
const STEMS =
  /^(?:stanz|schneid|diecut|dieline|kisscut|decoup|troquel|fustell|perfor|cordon|wykrojnik|stancform|stanssi|вырубн|высеч|биговк)/u;
/** Scripts that write without spaces. */
const SIGNS = /刀模|刀线|刀線|模切|压痕|壓痕|抜き型|抜型|カット|折り線|칼선|접는선|오시/u;

/** Whether a name, of a spot ink or a layer, says that it is for a tool and not for the press: `Stanzkontur`, `Die line`, `coupe_1`. */
export const namesTool = (name: string): boolean => {
  if (SIGNS.test(name.normalize("NFC"))) return true;
  const words = name
    .replace(/(\p{Ll})(\p{Lu})/gu, "$1 $2")
    .toLowerCase()
    .replaceAll("ł", "l")
    .replaceAll("ı", "i")
    .replace(/[æä]/g, "ae")
    .replaceAll("å", "a")
    .replaceAll("ø", "o")
    .normalize("NFD")
    // The short sign over й belongs to the letter; marks of Latin letters may be left out by who types them.
    .replace(/(?<=\p{Script=Latin})\p{M}+/gu, "")
    .normalize("NFC")
    .split(/[^\p{L}]+/u)
    .filter((word) => word !== "");
  return words.some((word) => WHOLE.has(word) || STEMS.test(word));
};
