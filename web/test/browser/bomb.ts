// A packed score that is small on the disk and would be 256 MB unpacked (ZIP, APPNOTE 6.3: local header, central directory,
// end of it). `said`: how long its directory says it is.
import { crc32, deflateRawSync } from 'node:zlib';

const container = Buffer.from('<?xml version="1.0"?><container><rootfiles><rootfile full-path="score.musicxml"/></rootfiles></container>');

export function packedBomb(said?: number): Buffer {
  const long = Buffer.concat([Buffer.from('<?xml version="1.0"?><score-partwise>'), Buffer.alloc(256 << 20, ' ')]);
  const parts: Buffer[] = [];
  const directory: Buffer[] = [];
  let at = 0;
  for (const [name, bytes, length] of [['META-INF/container.xml', container, container.length], ['score.musicxml', long, said ?? long.length]] as const) {
    const packed = deflateRawSync(bytes);
    const what = Buffer.alloc(26); // what the local header and the directory have in common
    what.writeUInt16LE(20, 0);
    what.writeUInt16LE(8, 4);
    what.writeUInt32LE(crc32(bytes), 10);
    what.writeUInt32LE(packed.length, 14);
    what.writeUInt32LE(length, 18);
    what.writeUInt16LE(name.length, 22);
    const local = Buffer.concat([Buffer.from('PK\u0003\u0004', 'latin1'), what, Buffer.from(name), packed]);
    const entry = Buffer.alloc(46);
    entry.write('PK\u0001\u0002', 'latin1');
    entry.writeUInt16LE(20, 4);
    what.copy(entry, 6);
    entry.writeUInt32LE(at, 42);
    directory.push(Buffer.concat([entry, Buffer.from(name)]));
    parts.push(local);
    at += local.length;
  }
  const end = Buffer.alloc(22);
  const listed = Buffer.concat(directory);
  end.write('PK\u0005\u0006', 'latin1');
  end.writeUInt16LE(directory.length, 8);
  end.writeUInt16LE(directory.length, 10);
  end.writeUInt32LE(listed.length, 12);
  end.writeUInt32LE(at, 16);
  return Buffer.concat([...parts, listed, end]);
}
