import { crc32, deflateRawSync } from 'node:zlib';
import { file, numbers } from './bytes.js';

export interface ZipPart {
  readonly name: string;
  readonly content: string | Uint8Array;
  readonly isStored?: boolean;
  /** Lies for the directory: size, check, where it begins, how it is packed, flags. */
  readonly size?: number;
  readonly check?: number;
  readonly at?: number;
  readonly method?: number;
  readonly flags?: number;
}

/**
 * A zip archive (PKWARE APPNOTE 6.3), by Node's own deflate and CRC.
 *
 * @param areShared whether all entries but the first name the bytes of the second
 */
export function zipFile(parts: readonly ZipPart[], comment = '', areShared = false): Uint8Array {
  const u16 = (...values: number[]) => numbers('uint16', values);
  const u32 = (...values: number[]) => numbers('uint32', values);
  const locals: Uint8Array[] = [];
  const directory: Uint8Array[] = [];
  let at = 0;
  for (const part of parts) {
    const name = file(part.name);
    const content = file(part.content);
    const packed = part.isStored ? content : new Uint8Array(deflateRawSync(content));
    const method = part.method ?? (part.isStored ? 0 : 8);
    const check = part.check ?? crc32(content);
    const size = part.size ?? content.length;
    const about = file(u16(20, part.flags ?? 0, method, 0, 33), u32(check, packed.length, size), u16(name.length, 0));
    const local = file('PK\x03\x04', about, name, packed);
    const isLaid = !areShared || locals.length < 2;
    const begins = isLaid ? at : locals[0].length;
    if (isLaid) {
      locals.push(local);
      at += local.length;
    }
    directory.push(file('PK\x01\x02', u16(20), about, u16(0, 0, 0), u32(0, part.at ?? begins), name));
  }
  const entries = file(...directory);
  const end = file(
    'PK\x05\x06',
    u16(0, 0, parts.length, parts.length),
    u32(entries.length, at),
    u16(comment.length),
    comment,
  );
  return file(...locals, entries, end);
}
