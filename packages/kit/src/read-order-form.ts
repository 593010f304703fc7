import { type OrderForm, orderForm } from "./forms/order-form.ts";
import type { Answer } from "./problem.ts";
import { readForm } from "./read-form.ts";

/** An order's file held against its form only, for those who pass it on: whether its kits and slots exist is for `readOrders` to say. */
export const readOrderForm = ({ file, text }: { readonly file: string; readonly text: unknown }): Answer<OrderForm> =>
  readForm(orderForm, text, { file });
