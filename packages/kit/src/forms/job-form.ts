// Long, because it is one table: every field of job.json with its description.
import { z } from "zod";
import { coordinate, length as side } from "./measures.ts";

const length = z.number().meta({ unit: "mm" });
const sideways = z.tuple([length, length]);
const share = z.number().min(0).max(1);
const count = z.int().min(0);
const words = z.string();
const place = z
  .looseObject({
    order: words.optional().meta({ description: "The order." }),
    line: count.optional().meta({ description: "Line of the order, from 1." }),
    copy: count.optional().meta({ description: "Copy of that line, from 1." }),
    kit: words.optional().meta({ description: "The kit." }),
    piece: words.optional().meta({ description: "The piece." }),
    side: z.literal("back").optional().meta({ description: "The piece's reverse, where it was met there." }),
    slot: words.optional().meta({ description: "The slot." }),
    operation: words.optional().meta({ description: "cutting, partialCutting, creasing or perforating." }),
    file: words.optional().meta({ description: "The file." }),
    stock: words.optional().meta({ description: "The stock." }),
    sheet: count.optional().meta({ description: "The sheet." }),
    field: words.optional().meta({ description: "Path of the field in its file, as pieces[0].bleed." }),
    at: sideways.optional().meta({ description: "The point: x, y in the drawing, from its top-left corner, y down." }),
  })
  .meta({ description: "Where it was met; what is known of it." });

const finding = z.looseObject({
  level: z.enum(["error", "warning", "note"]).meta({ description: "How bad it is. A finished job has no errors." }),
  rule: words.meta({ description: "Name of the rule, for programs." }),
  where: place,
  places: z
    .array(
      place.extend({ message: words.optional().meta({ description: "The message there, where its numbers differ." }) }),
    )
    .optional()
    .meta({ description: "Every place of this one cause, the first included, when there are several." }),
  more: count.optional().meta({ description: "Places beyond those listed." }),
  views: z
    .array(
      z.looseObject({
        title: words.meta({ description: "What it shows." }),
        png: words.meta({ description: "A small picture, PNG in base64." }),
      }),
    )
    .optional()
    .meta({ description: "Pictures that show it, where words are not enough." }),
  message: words.meta({ description: "What is wrong, with numbers." }),
  hint: words.meta({ description: "What to do." }),
});

const mark = z.looseObject({
  at: z.tuple([coordinate, coordinate]).meta({ description: "Centre: x, y from the sheet's lower-left corner, y up." }),
  shape: z.enum(["disc", "square", "cross"]).meta({ description: "Its shape." }),
  size: side.meta({ description: "Its diameter or side." }),
});

const serve = z.looseObject({
  order: words.meta({ description: "The order." }),
  first: z
    .int()
    .min(1)
    .meta({ description: "First number of the piece in that order, counted over its lines from 1." }),
  last: z.int().min(1).meta({ description: "Last number. Number n belongs to kit copy ceil(n / perKit)." }),
});

const placement = z.looseObject({
  number: z.int().min(1).meta({ description: "Number of the place on the sheet, as on the proof and the docket." }),
  kit: words.meta({ description: "The kit." }),
  piece: words.meta({ description: "The piece." }),
  texts: z.record(words, z.unknown()).meta({ description: "Its words: slot name to text." }),
  turn: z.number().meta({ unit: "degrees counter-clockwise", description: "How it is turned on the sheet." }),
  matrix: z.tuple([z.number(), z.number(), z.number(), z.number(), length, length]).meta({
    description:
      "a b c d e f takes drawing coordinates to sheet coordinates: x' = a x + c y + e, y' = b x + d y + f. Rigid but for the flip of y.",
  }),
  serves: z.array(serve).meta({ description: "Whose pieces it makes as the run goes." }),
  overs: count.meta({ description: "Copies beyond the orders." }),
});

const pieceTolerance = z.looseObject({
  kit: words.meta({ description: "The kit." }),
  piece: words.meta({ description: "The piece." }),
  side: z
    .literal("back")
    .optional()
    .meta({ description: "Of its reverse: the register counts twice, cut to front and front to back." }),
  bleed: length.meta({ description: "Least bleed that is really there." }),
  worst: length.meta({ description: "How far print and cut part when all errors add up." }),
  likely: length.meta({ description: "The root of the sum of the errors' squares." }),
  spareWorst: length.meta({ description: "What is left of the bleed at worst; negative: paper can show." }),
  spareLikely: length.meta({ description: "What is left of the bleed at the likely error." }),
  paper: z.enum(["never", "worst", "likely"]).meta({ description: "Whether paper can show at its edge." }),
});

const tolerance = z.looseObject({
  register: length.meta({ description: "The press's register." }),
  cutter: length.meta({ description: "The cutter's tolerance." }),
  stretch: share.optional().meta({ description: "Growth of the paper between print and cut, as a share of length." }),
  paper: z.enum(["never", "worst", "likely"]).meta({ description: "Whether paper can show anywhere on the sheet." }),
  pieces: z.array(pieceTolerance).meta({ description: "Printed pieces, the one with the least to spare first." }),
  words: words.meta({ description: "The same in one sentence." }),
});

const work = z.looseObject({
  length: z.record(words, length).meta({ description: "Length under the tool, by operation." }),
  travel: length.meta({ description: "Way with the tool raised." }),
  lifts: count.meta({ description: "How often the tool is raised." }),
  seconds: z.number().min(0).optional().meta({ unit: "s", description: "Estimate, where the shop gives speeds." }),
});

const percent = z.number().min(0).meta({ unit: "%" });
const ink = z.looseObject({
  max: percent.meta({ description: "The most that lies on a square millimetre, the plates summed." }),
  mean: z
    .looseObject({
      cyan: percent.meta({ description: "Cyan ink." }),
      magenta: percent.meta({ description: "Magenta ink." }),
      yellow: percent.meta({ description: "Yellow ink." }),
      black: percent.meta({ description: "Black ink." }),
      spots: z.record(z.string(), percent).optional().meta({
        description: "Spot inks with plates of their own, by name; left out: none. None of the four counts them.",
      }),
    })
    .meta({ description: "How much of the whole sheet each ink covers." }),
});

const tool = z.looseObject({ pen: z.int().meta({ description: "Its pen in HP-GL." }) });

const sheet = z.looseObject({
  sheet: z.int().min(1).meta({ description: "Number of the sheet, from 1." }),
  stock: words.meta({ description: "The stock, as shop.json names it." }),
  size: z.tuple([side, side]).meta({ description: "Width, height." }),
  run: z.int().min(1).meta({ description: "How many times it is printed and cut." }),
  code: words.meta({ description: "The code printed on it." }),
  slug: words.meta({ description: "The line of type printed on it." }),
  furniture: z
    .array(
      z.looseObject({
        what: z.enum(["colourBar", "registerTarget", "scaleBar"]).meta({ description: "What it is." }),
        box: z.tuple([length, length, length, length]).meta({
          description: "x, y, width, height from the sheet's lower-left corner, y up.",
        }),
      }),
    )
    .optional()
    .meta({ description: "What is printed in the waste for the people at the press, where the press asks for it." }),
  files: z
    .looseObject({
      print: words.optional().meta({ description: "The print PDF; none for stock that is not printed." }),
      whole: z
        .looseObject({
          print: words.meta({ description: "The print PDF of all sheets of the press." }),
          page: z.int().min(1).meta({ description: "The sheet's page in it; its back's is the next." }),
        })
        .optional()
        .meta({ description: "Where the press has one print PDF of all sheets." }),
      cut: z.record(words, words).meta({ description: "Cut files by format." }),
      proof: words.meta({ description: "The proof." }),
      backProof: words.optional().meta({ description: "The proof of the back, as it lies turned over." }),
    })
    .meta({ description: "Names of its files in this folder." }),
  sides: z
    .int()
    .min(0)
    .max(2)
    .optional()
    .meta({ description: "Sides that are printed; of two, the print PDF has a page each." }),
  work: z
    .array(
      z.looseObject({
        do: z.enum(["print", "turn", "cut"]).meta({ description: "What is done." }),
        side: z.enum(["front", "back"]).optional().meta({ description: "The side that lies on top." }),
        page: z.int().min(1).optional().meta({ description: "The page of the print PDF." }),
        edge: z.enum(["long", "short"]).optional().meta({ description: "The edge that the sheet is turned over." }),
      }),
    )
    .optional()
    .meta({ description: "Of sheets printed on both sides: the steps in their order." }),
  cutSameAs: z.int().min(1).meta({ description: "The first sheet that is cut alike." }),
  cutter: z
    .looseObject({
      name: words.meta({ description: "The cutter's name in shop.json." }),
      tools: z
        .looseObject({
          cutting: tool.optional().meta({ description: "The tool that cuts through." }),
          creasing: tool.optional().meta({ description: "The tool that creases." }),
          perforating: tool.optional().meta({ description: "The tool that perforates." }),
          partialCutting: tool.optional().meta({ description: "The tool that cuts partly through." }),
        })
        .meta({ description: "Tools by operation." }),
      axes: z
        .looseObject({
          origin: z
            .enum(["lowerLeft", "lowerRight", "upperLeft", "upperRight"])
            .meta({ description: "The corner of the sheet that is 0,0 in HP-GL and DXF." }),
          swap: z.boolean().meta({ description: "Whether X and Y change places there." }),
          offset: z.tuple([coordinate, coordinate]).meta({ description: "Added to X and Y there." }),
        })
        .meta({ description: "How the machine counts." }),
    })
    .meta({ description: "What a reader of the cut files must know of the cutter." }),
  marks: z.array(mark).meta({ description: "Marks for the cutter's camera." }),
  placements: z.array(placement).meta({ description: "What lies on it." }),
  yield: share.meta({ description: "Area inside the outlines less openings, over the area of the sheet." }),
  cutLength: length.meta({ description: "Length of all lines that are cut through or partly." }),
  cutting: work.optional().meta({ description: "The cutter's work on one sheet." }),
  ink: ink
    .extend({ back: ink.optional().meta({ description: "The same of the back." }) })
    .optional()
    .meta({ description: "Ink on the front, on a press of four inks." }),
  proof: z
    .looseObject({
      level: z.enum(["marks", "full"]).meta({ description: "How far it was tried." }),
      worst: z
        .looseObject({
          paper: length.optional().meta({ description: "Least distance beyond a cut at which paper would show." }),
          text: length.optional().meta({ description: "Least distance from a text to a line of the cutter, up to 4." }),
          print: length.optional().meta({ description: "Most that the print of a piece was found from its place." }),
          cut: length.meta({ description: "Most that a line of a cut file is off from the drawing's." }),
          mark: length.optional().meta({ description: "Most that a mark was found from its place." }),
          code: length.optional().meta({ description: "How far the code was found from its place." }),
        })
        .meta({ description: "The worst distances found." }),
      within: z
        .looseObject({
          shift: length.optional().meta({ description: "The print shifted whole." }),
          turn: length.optional().meta({ description: "Turned about the sheet's middle." }),
          stretch: length.optional().meta({ description: "Stretched or shrunk along, across or both." }),
        })
        .optional()
        .meta({
          description:
            "How far the print may lie off the cut in one way, at the sheet's farthest point, before paper shows or a text is touched.",
        }),
      unmeasured: count
        .optional()
        .meta({ description: "Prints whose place the picture does not tell: bare, pale or soft at the edge." }),
    })
    .optional()
    .meta({ description: "How the written files stood the proof; absent where shop.json says `off`." }),
  tolerance: tolerance.optional().meta({ description: "Whether paper can show at a cut edge." }),
});

const file = z.looseObject({
  name: words.meta({ description: "Its name in this folder." }),
  bytes: count.meta({ description: "Its size." }),
  sha256: z
    .string()
    .regex(/^[0-9a-f]{64}$/)
    .meta({ description: "Its SHA-256, hexadecimal." }),
});

/** job.json as it is written, the last file of a job folder. */
export const jobForm = z
  .looseObject({
    job: words.meta({ description: "Name of the job: the same input has the same." }),
    orders: z.array(words).meta({ description: "Orders that are made." }),
    sheets: z.array(sheet).meta({ description: "Sheets in the order they are printed." }),
    totals: z
      .looseObject({
        sheets: count.meta({ description: "Sheets of paper." }),
        layouts: count.meta({ description: "Distinct sheets." }),
        cutLayouts: count.meta({ description: "Sheets that are cut differently." }),
        yield: share.meta({ description: "Share of the paper that becomes pieces." }),
        pieces: count.meta({ description: "Pieces that orders get." }),
        overs: count.meta({ description: "Pieces beyond the orders." }),
      })
      .meta({ description: "Sums over all sheets as often as they are printed." }),
    plan: z
      .looseObject({
        cost: z.number().meta({ description: "Cost of the plan in the shop's units (setup)." }),
        bound: z
          .looseObject({
            sheets: z.number().meta({ description: "Least sheets of any plan, as far as known." }),
            cost: z.number().meta({ description: "Least cost of any plan, as far as known." }),
          })
          .meta({ description: "What no plan can undercut." }),
      })
      .meta({ description: "How good the plan of runs is." }),
    gang: z
      .looseObject({
        closed: words.meta({ description: "What closed the gang: fill, wait, due, rush, now and the like." }),
        why: words.meta({ description: "The same in a sentence." }),
      })
      .optional()
      .meta({ description: "Why these orders were made together, where a queue decided it." }),
    remakes: z
      .looseObject({
        job: words.meta({ description: "The finished job." }),
        spoiled: z.array(words).meta({ description: "Its places, sheet:number, one for each piece made anew." }),
      })
      .optional()
      .meta({ description: "Of a remake: whose spoiled pieces it makes anew." }),
    findings: z.array(finding).meta({ description: "Warnings and notes about the input." }),
    files: z.array(file).meta({ description: "Every file of the folder but this one." }),
    units: z
      .looseObject({
        length: z.literal("mm").meta({ description: "Every length in this file, without exception." }),
        angle: z.literal("degree").meta({ description: "Every angle, counter-clockwise." }),
      })
      .meta({ description: "Units of this file." }),
    versions: z.record(words, words).meta({ description: "What made the bytes: package or engine to version." }),
  })
  .meta({ title: "job.json", description: "What a job folder holds. A folder without job.json is not finished." });
