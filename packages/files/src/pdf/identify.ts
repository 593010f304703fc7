import { createHash } from "node:crypto";
import type { OutputProfile } from "@kitforme/prepress";
import { type PDFContext, type PDFDict, PDFHexString, PDFName, type PDFRef, PDFString, PDFWriter } from "../pdf-lib.ts";
import { rawStream } from "./image.ts";

/** The same input gives the same bytes at any time, so every document that is written bears this date. */
const PDF_DATE = "D:20000101000000+00'00'";
const XMP_DATE = "2000-01-01T00:00:00+00:00";

const MAKER = "kitforme";
const PDFX = "PDF/X-4";

/** Holds the place of the content's hash until the content is known: same length, so no offset moves. */
const HASH_TO_COME = "0".repeat(31) + "f";

/**
 * Info and XMP that say the same (ISO 15930-7 as far as public: title, dates, trapped, version).
 *
 * @param id hash of the content, where it is known already
 */
export const identify = (
  context: PDFContext,
  title: string,
  pdfx: boolean,
  id = HASH_TO_COME,
): { info: PDFRef; metadata: PDFRef } => {
  const info = context.obj({
    Title: PDFHexString.fromText(title),
    Creator: PDFString.of(MAKER),
    Producer: PDFString.of(MAKER),
    CreationDate: PDFString.of(PDF_DATE),
    ModDate: PDFString.of(PDF_DATE),
    Trapped: PDFName.of("False"),
    ...(pdfx ? { GTS_PDFXVersion: PDFString.of(PDFX) } : {}),
  });
  const metadata = rawStream(context, new TextEncoder().encode(xmp(title, pdfx, id)), {
    Type: PDFName.of("Metadata"),
    Subtype: PDFName.of("XML"),
  });
  return { info: context.register(info), metadata: context.register(metadata) };
};

const escaped = (text: string): string => text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");

const xmp = (
  title: string,
  pdfx: boolean,
  id: string,
): string => `<?xpacket begin="\uFEFF" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about=""
 xmlns:dc="http://purl.org/dc/elements/1.1/"
 xmlns:xmp="http://ns.adobe.com/xap/1.0/"
 xmlns:xmpMM="http://ns.adobe.com/xap/1.0/mm/"
 xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
 xmlns:pdfxid="http://www.npes.org/pdfx/ns/id/">
<dc:format>application/pdf</dc:format>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">${escaped(title)}</rdf:li></rdf:Alt></dc:title>
<xmp:CreatorTool>${MAKER}</xmp:CreatorTool>
<xmp:CreateDate>${XMP_DATE}</xmp:CreateDate>
<xmp:ModifyDate>${XMP_DATE}</xmp:ModifyDate>
<xmp:MetadataDate>${XMP_DATE}</xmp:MetadataDate>
<xmpMM:DocumentID>uuid:${id}</xmpMM:DocumentID>
<xmpMM:VersionID>1</xmpMM:VersionID>
<xmpMM:RenditionClass>default</xmpMM:RenditionClass>
<pdf:Producer>${MAKER}</pdf:Producer>
<pdf:Trapped>False</pdf:Trapped>${pdfx ? `\n<pdfxid:GTS_PDFXVersion>${PDFX}</pdfxid:GTS_PDFXVersion>` : ""}
</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>`;

/** A printing condition: what the sheet is printed to. `outputProfile` of prepress gives one. */
export type Condition = Pick<OutputProfile, "bytes" | "identifier"> &
  Partial<Pick<OutputProfile, "info" | "registry">> & { readonly channels: 1 | 3 | 4 };

/** Only an output profile can be a printing condition of PDF/X (ICC.1: device class, bytes 12 to 15 of the header). */
export const isOutputProfile = (profile: Uint8Array): boolean =>
  String.fromCharCode(...profile.subarray(12, 16)) === "prtr";

/** The output intent. `Info` is written always: it is due whenever the identifier is no registered name. */
export const outputIntent = (context: PDFContext, condition: Condition, profile: PDFRef): PDFDict =>
  context.obj({
    Type: "OutputIntent",
    S: "GTS_PDFX",
    OutputConditionIdentifier: PDFString.of(condition.identifier),
    Info: PDFHexString.fromText(condition.info ?? condition.identifier),
    ...(condition.registry ? { RegistryName: PDFString.of(condition.registry) } : {}),
    DestOutputProfile: profile,
  });

/**
 * The document's bytes, with header, /ID and document id. The hash is taken over the whole file and then put into the places
 * kept for it.
 */
export const serialise = async (context: PDFContext): Promise<Uint8Array> => {
  const id = PDFHexString.of(HASH_TO_COME);
  context.trailerInfo.ID = context.obj([id, id]);
  const bytes = await PDFWriter.forContext(context, Number.POSITIVE_INFINITY).serializeToBuffer();
  const file = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  // The library knows only 1.7. PDF/X-4 builds on 1.6, and nothing newer is used.
  file.write("%PDF-1.6", 0, "latin1");
  const hash = createHash("sha256").update(file).digest("hex").slice(0, HASH_TO_COME.length);
  for (const place of [`uuid:${HASH_TO_COME}`, `<${HASH_TO_COME}> <${HASH_TO_COME}>`, `<${HASH_TO_COME}>`]) {
    // From the end for the trailer: the same digits inside a picture's stream are not ours to touch.
    const at = file.lastIndexOf(place, undefined, "latin1");
    if (at >= 0) file.write(place.replaceAll(HASH_TO_COME, hash), at, "latin1");
  }
  return bytes;
};
