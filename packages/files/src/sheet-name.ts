/** What the names of a sheet's files begin with, as "sheet-001"; job tickets call the sheet so too. */
export const sheetName = (sheet: number): string => `sheet-${String(sheet).padStart(3, "0")}`;
