export type { Sheet } from "@kitforme/sheet";
