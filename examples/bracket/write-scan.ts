import { mkdir } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { writePly } from '@fettle/io';
import { writeFileWhole } from '@fettle/io/node';
import { scanBracket } from './scan-bracket.js';
import { scanSheet } from './scan-sheet.js';

// Scans for trying plans on: npx tsx examples/bracket/write-scan.ts

const out = fileURLToPath(new URL('../../out/', import.meta.url));
await mkdir(out, { recursive: true });
const scans = { bracket: scanBracket(), 'bracket-worn': scanBracket({ seed: 2, bore: 40.2 }), sheet: scanSheet() };
for (const [name, scan] of Object.entries(scans)) {
  await writeFileWhole(`${out}${name}.ply`, [...writePly(scan)]);
  console.log(`out/${name}.ply`);
}
