import { FIT_CHECKS } from "./checks/fit/index.ts";
import type { Kit } from "./kit.ts";
import { ledger } from "./ledger.ts";
import type { Finding } from "./problem.ts";
import type { Shop } from "./shop.ts";

/** Can this shop make this kit? Every piece against the stock it asks for, in the kit's order. */
export const checkKit = (kit: Kit, shop: Shop): readonly Finding[] =>
  kit.pieces.flatMap((piece) => {
    const told = ledger({ kit: kit.kit, piece: piece.piece });
    const stock = Object.hasOwn(shop.stocks, piece.stock) ? shop.stocks[piece.stock] : undefined;
    if (stock) for (const check of FIT_CHECKS) check(piece, stock, told);
    else told.say("stock-unknown", { stock: piece.stock, known: Object.keys(shop.stocks) }, { stock: piece.stock });
    return told.findings();
  });
