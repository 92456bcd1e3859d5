import { FettleError, type LengthUnit, type Scan } from '@fettle/geom';
import { Zip, ZipDeflate } from 'fflate';
import { digits } from '../text/shortest-number.js';
import { checkScan } from './check-scan.js';
import { Chunks } from './chunks.js';
import { divisorOf, type FileUnits } from './file-units.js';

export interface ThreeMfOptions extends FileUnits {
  /** Title in the file's metadata; default the scan's name. */
  readonly title?: string;
}

/** Vertices or triangles a piece. */
const LINES = 1 << 14;

/**
 * A mesh as 3MF (ISO/IEC 25422), its unit in the model: one object, placed once. Coordinates are written with the fewest digits that read
 * back as the same double; normals and colors are left out. All points are written, whatever `select` says. The same scan gives the
 * same bytes: the archive's dates are fixed.
 * Errors: `no-triangles` for a cloud, `bad-units`, those of checkScan.
 */
export function write3mf(scan: Scan, options: ThreeMfOptions = {}): Chunks {
  checkScan(scan);
  const { name = 'scan', positions, triangles } = scan;
  if (triangles === undefined || triangles.length === 0) {
    throw new FettleError(
      'no-triangles',
      `${name}: not written: 3MF holds meshes, and this is a cloud. Write PLY or OBJ.`,
    );
  }
  const { title = name, units = 'mm' } = options;
  const divisor = divisorOf(scan, options);
  return new Chunks(() => pieces(() => model(positions, triangles, { title, unit: UNITS[units], divisor })));
}

const contentTypes = `<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
`;

const relationships = `<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Id="rel0" Target="/3D/3dmodel.model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
`;

/** Units as the standard spells them. */
const UNITS: Readonly<Record<LengthUnit, string>> = { mm: 'millimeter', cm: 'centimeter', m: 'meter', inch: 'inch' };

/** The first day a zip archive can name. */
const mtime = '1980-01-01T00:00:00';

function* pieces(texts: () => Iterable<string>): Generator<Uint8Array<ArrayBuffer>> {
  const encoder = new TextEncoder();
  const packed: Uint8Array<ArrayBuffer>[] = [];
  const zip = new Zip((error, piece) => {
    if (error) throw error;
    if (piece.length > 0) packed.push(piece as Uint8Array<ArrayBuffer>);
  });
  for (const [part, lines] of [
    ['[Content_Types].xml', [contentTypes]],
    ['_rels/.rels', [relationships]],
    ['3D/3dmodel.model', texts()],
  ] as const) {
    const file = new ZipDeflate(part, { level: 6 });
    file.mtime = mtime;
    zip.add(file);
    for (const text of lines) {
      file.push(encoder.encode(text));
      yield* packed.splice(0);
    }
    file.push(new Uint8Array(0), true);
  }
  zip.end();
  yield* packed.splice(0);
}

interface ModelHead {
  readonly title: string;
  readonly unit: string;
  readonly divisor: number;
}

function* model(p: Float64Array, t: Uint32Array, { title, unit, divisor }: ModelHead): Generator<string> {
  yield '<?xml version="1.0" encoding="UTF-8"?>\n';
  yield `<model unit="${unit}" xml:lang="en-US" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">\n`;
  yield `<metadata name="Title">${escaped(title)}</metadata>\n<resources>\n<object id="1" type="model">\n<mesh>\n<vertices>\n`;
  for (let from = 0; from < p.length; from += 3 * LINES) {
    let text = '';
    for (let i = from; i < Math.min(from + 3 * LINES, p.length); i += 3) {
      text += `<vertex x="${digits(p[i] / divisor)}" y="${digits(p[i + 1] / divisor)}" z="${digits(p[i + 2] / divisor)}"/>\n`;
    }
    yield text;
  }
  yield '</vertices>\n<triangles>\n';
  for (let from = 0; from < t.length; from += 3 * LINES) {
    let text = '';
    for (let i = from; i < Math.min(from + 3 * LINES, t.length); i += 3) {
      text += `<triangle v1="${t[i]}" v2="${t[i + 1]}" v3="${t[i + 2]}"/>\n`;
    }
    yield text;
  }
  yield '</triangles>\n</mesh>\n</object>\n</resources>\n<build>\n<item objectid="1"/>\n</build>\n</model>\n';
}

const escapes: Readonly<Record<string, string>> = { '<': '&lt;', '>': '&gt;', '&': '&amp;', '"': '&quot;' };

/** Text for XML; control characters, which it cannot hold, as question marks. */
const escaped = (text: string): string =>
  Array.from(text, (c) => escapes[c] ?? (c < ' ' || c === '\ufffe' || c === '\uffff' ? '?' : c)).join('');
