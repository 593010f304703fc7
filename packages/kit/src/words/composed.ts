/** Ideographs that Unicode holds for the same as others though they are drawn differently, as a bearer of the name writes it. */
const OTHER_FORMS = /[^\uf900-\ufaff\u{2f800}-\u{2fa1f}]+/gu;

/**
 * A wording in one spelling, whichever it was typed in: NFC, but that compatibility ideographs stay (U+FA19 of a Japanese name would
 * become U+795E, which has another form; Unicode Standard, section 23.1, on names).
 */
export const composed = (text: string): string => text.replace(OTHER_FORMS, (part) => part.normalize("NFC"));
