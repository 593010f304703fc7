import { setImmediate as breath } from "node:timers/promises";
import { withinMargins, type RoomOf } from "./checks/fit/fit-check.ts";
import { FIT_CHECKS } from "./checks/fit/index.ts";
import type { Kit, Piece } from "./kit.ts";
import { type Ledger, ledger } from "./ledger.ts";
import type { Finding } from "./problem.ts";
import type { Shop, Stock } from "./shop.ts";

/** The stock of a name, or a finding that there is none. */
export const stockIn = (shop: Shop, name: string, report: Ledger): Stock | undefined => {
  if (Object.hasOwn(shop.stocks, name)) return shop.stocks[name];
  report.say("stock-unknown", { stock: name, known: Object.keys(shop.stocks) }, { stock: name });
  return undefined;
};

/** Can a piece be made of its stock? Every rule that needs both; between two of them whoever opens the next piece is heard. */
export const checkFitInBreaths = async (piece: Piece, stock: Stock, report: Ledger, roomOf: RoomOf): Promise<void> => {
  for (const check of FIT_CHECKS) {
    check(piece, stock, report, roomOf);
    await breath();
  }
};

/**
 * Can this shop make this kit? Every piece against the stock it asks for, in the kit's order.
 * @param roomOf where pieces may lie on a sheet; left out, wherever press and cutter reach
 */
export const checkKit = (kit: Kit, shop: Shop, roomOf: RoomOf = withinMargins): readonly Finding[] =>
  kit.pieces.flatMap((piece) => {
    const report = ledger({ kit: kit.kit, piece: piece.piece });
    const stock = stockIn(shop, piece.stock, report);
    if (stock) for (const check of FIT_CHECKS) check(piece, stock, report, roomOf);
    return report.findings();
  });
