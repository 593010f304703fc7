// Lengths. Inside kitforme every length is a whole number of micrometres: equality and hashes are exact, and clipper's
// fast integer range (47,453,132) still holds 47 m. Millimetres, inches and points exist only at the doors, and every
// tolerance has its address here.

/** A length in micrometres; whole unless a name says otherwise. */
export type Um = number;

/** Micrometres in a millimetre. */
export const UM_PER_MM = 1000;

/** Millimetres to whole micrometres, half up. */
export const mm = (millimetres: number): Um => Math.round(millimetres * UM_PER_MM);
/** Inches to whole micrometres. */
export const inch = (inches: number): Um => Math.round(inches * 25_400);
/** Micrometres to millimetres. */
export const toMm = (um: Um): number => um / UM_PER_MM;
/** Micrometres to PDF points (72 per inch). */
export const toPoints = (um: Um): number => (um * 72) / 25_400;
/** PDF points to micrometres, not rounded. */
export const fromPoints = (points: number): number => (points * 25_400) / 72;
/** Micrometres to HP-GL plotter units (40 per mm), half up. */
export const toPlotterUnits = (um: Um): number => Math.floor(um / 25 + 0.5);

/** How far a flattened curve may stray from the curve it stands for. */
export const FLATTEN_TOLERANCE: Um = 4;
/** Ends this near are one point, silently. */
export const CLOSED_WITHIN: Um = 10;
/** Ends this near are joined, with a warning. */
export const JOINED_WITHIN: Um = 100;
/** How far a grown or shrunk contour may stray from the true one. */
export const OFFSET_TOLERANCE: Um = 4;
/** Rounding of two independently placed points: what `verifyForme` forgives. */
export const ROUNDING: Um = 2;
