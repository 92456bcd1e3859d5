import { createScan, FettleError, seededRandom, spatialIndex } from '@fettle/geom';
import { indexInThread } from '@fettle/io/node';
import { describe, expect, it } from 'vitest';

const random = seededRandom(3);
const cloud = (count: number) =>
  createScan({ positions: Float64Array.from({ length: 3 * count }, () => 100 * random.next()), name: 'cloud' });

describe('an index built in a thread', () => {
  it('answers as one built here, and the caller goes on meanwhile', async () => {
    const scan = cloud(200_000);
    let turns = 0;
    const ticking = setInterval(() => turns++, 1);
    const index = await indexInThread(scan);
    clearInterval(ticking);
    expect(turns).toBeGreaterThan(3);
    const own = spatialIndex({ ...scan });
    for (let i = 0; i < 100; i++) {
      const place = [100 * random.next(), 100 * random.next(), 100 * random.next()] as const;
      expect(index.nearest(place)).toEqual(own.nearest(place));
    }
  });

  it('is called off by its signal', async () => {
    const stopped = new AbortController();
    const building = indexInThread(cloud(200_000), { signal: stopped.signal });
    stopped.abort(new FettleError('enough', 'enough'));
    await expect(building).rejects.toMatchObject({ code: 'enough' });
    await expect(indexInThread(cloud(10), { signal: stopped.signal })).rejects.toMatchObject({ code: 'enough' });
  });
});
