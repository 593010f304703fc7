import { z } from "zod";
import { kitForm } from "./kit-form.ts";
import { orderForm } from "./order-form.ts";
import { shopForm } from "./shop-form.ts";

const FORMS = { shop: shopForm, kit: kitForm, order: orderForm } as const;

/** The JSON Schema of a file as people write it: defaults may be left out, fields beyond it are allowed. */
export const schemaOf = (file: keyof typeof FORMS): object => z.toJSONSchema(FORMS[file], { io: "input" });
