import {
  clearanceHole,
  counterbore,
  type FettleError,
  holeAdvice,
  holeAdviceInWords,
  metricThread,
  tapDrill,
} from '@fettle/geom';
import { expect, test } from 'vitest';

// From memory of the tables named beside each value.

test('clearance holes of ISO 273: fine, medium, coarse', () => {
  const printed: Readonly<Record<string, readonly [number, number, number]>> = {
    'M1.6': [1.7, 1.8, 2],
    M3: [3.2, 3.4, 3.6],
    M4: [4.3, 4.5, 4.8],
    M5: [5.3, 5.5, 5.8],
    M6: [6.4, 6.6, 7],
    M8: [8.4, 9, 10],
    M10: [10.5, 11, 12],
    M12: [13, 13.5, 14.5],
    M16: [17, 17.5, 18.5],
    M20: [21, 22, 24],
    M24: [25, 26, 28],
    M30: [31, 33, 35],
    M36: [37, 39, 42],
    M42: [43, 45, 48],
    M48: [50, 52, 56],
    M64: [66, 70, 74],
  };
  for (const [thread, holes] of Object.entries(printed)) {
    const { fine, medium, coarse } = clearanceHole(thread);
    expect([fine, medium, coarse], thread).toEqual(holes);
  }
  expect(clearanceHole(8)).toEqual(clearanceHole('M8'));
});

test('coarse pitches (ISO 261) and drills before the tap (ISO 2306)', () => {
  const printed: Readonly<Record<string, readonly [pitch: number, drill: number]>> = {
    M3: [0.5, 2.5],
    M4: [0.7, 3.3],
    M5: [0.8, 4.2],
    M6: [1, 5],
    M8: [1.25, 6.8],
    M10: [1.5, 8.5],
    M12: [1.75, 10.2],
    M14: [2, 12],
    M16: [2, 14],
    M20: [2.5, 17.5],
    M24: [3, 21],
    M30: [3.5, 26.5],
    M36: [4, 32],
    M42: [4.5, 37.5],
    M48: [5, 43],
    M56: [5.5, 50.5],
    M64: [6, 58],
  };
  for (const [thread, [pitch, drill]] of Object.entries(printed)) {
    expect(metricThread(thread).pitch, thread).toBe(pitch);
    expect(tapDrill(thread), thread).toBe(drill);
  }
});

test('minor diameters of nut threads 6H (ISO 724 and ISO 965-2)', () => {
  const printed: Readonly<Record<string, readonly [number, number]>> = {
    M2: [1.567, 1.679],
    M3: [2.459, 2.599],
    M4: [3.242, 3.422],
    M5: [4.134, 4.334],
    M6: [4.917, 5.153],
    M8: [6.647, 6.912],
    M10: [8.376, 8.676],
    M12: [10.106, 10.441],
    M16: [13.835, 14.21],
    M20: [17.294, 17.744],
    M24: [20.752, 21.252],
    M30: [26.211, 26.771],
  };
  for (const [thread, [smallest, largest]] of Object.entries(printed))
    expect(metricThread(thread).minor, thread).toEqual({ smallest, largest });
});

test('every drill before the tap makes a hole the nut thread allows', () => {
  for (const thread of ['M1.6', 'M2.5', 'M4.5', 'M7', 'M18', 'M33', 'M45', 'M60']) {
    const { tapDrill: drill, minor } = metricThread(thread);
    expect(drill, thread).toBeGreaterThanOrEqual(minor.smallest - 0.001);
    expect(drill, thread).toBeLessThanOrEqual(minor.largest);
  }
});

test('counterbores for socket head cap screws (DIN 974-1, series 1): the head goes in and is sunk', () => {
  const printed: readonly (readonly [string, number])[] = [
    ['M5', 10],
    ['M6', 11],
    ['M8', 15],
    ['M10', 18],
    ['M12', 20],
    ['M16', 26],
    ['M20', 33],
  ];
  for (const [thread, diameter] of printed) {
    const bore = counterbore(thread)!;
    expect(bore.diameter, thread).toBe(diameter);
    expect(bore.head.diameter).toBeLessThan(bore.diameter);
    expect(bore.head.diameter).toBeGreaterThan(clearanceHole(thread).medium);
    expect(bore.depth).toBeGreaterThan(bore.head.height);
  }
  expect(counterbore('M42')).toBeUndefined();
});

test('a hole of 9.05 mm is for M8, medium, and has 1.05 mm of play about the screw', () => {
  const advice = holeAdvice(9.05, 0.05);
  expect(advice.clearance).toEqual({ thread: 'M8', series: 'medium', diameter: 9, difference: 0.05, fits: true });
  expect(advice.thread).toMatchObject({ name: 'M8', tapDrill: 6.8 });
  expect(advice.play).toBeCloseTo(1.05, 9);
  expect(advice.counterbore).toMatchObject({ diameter: 15, depth: 8.6 });
  expect(advice.tapped).toEqual([]);
  expect(advice.others).toEqual([]);
});

test('18.02 mm lies between two holes for the same screw: both are told', () => {
  const { clearance, others, thread } = holeAdvice(18.02, 0.03);
  expect(clearance).toMatchObject({ thread: 'M16', series: 'coarse', diameter: 18.5, fits: false });
  expect(others).toEqual([{ thread: 'M16', series: 'medium', diameter: 17.5, difference: 0.52, fits: false }]);
  expect(thread.name).toBe('M16');
});

test('a hole that is two things is said to be both: 10 mm lets M8 through, 5 mm is tapped M6 or lets M4.5 through', () => {
  expect(holeAdvice(10, 0.05).clearance).toMatchObject({ thread: 'M8', series: 'coarse', fits: true });
  const advice = holeAdvice(5, 0.05);
  expect(advice.clearance).toMatchObject({ thread: 'M4.5', series: 'medium' });
  expect(advice.tapped.map(({ name }) => name)).toEqual(['M6']);
});

test('a doubtful measure keeps the doubt: 25.6 mm ± 0.6 may be 25 or 26 mm', () => {
  const { clearance, others } = holeAdvice(25.6, 0.6);
  expect([clearance, ...others].map(({ thread, series }) => `${thread} ${series}`)).toEqual([
    'M24 medium',
    'M22 coarse',
    'M24 fine',
  ]);
});

test('advice in words', () => {
  expect(holeAdviceInWords(holeAdvice(18.02, 0.03))).toEqual([
    'Nearest clearance hole (ISO 273): M16 coarse, 18.5 mm (measured 0.48 mm under it).',
    'Known to ± 0.03 mm, it may as well be M16 medium, 17.5 mm (measured 0.52 mm over it).',
    'For M16: drill 18.5 mm to clear, 14 mm to tap at pitch 2 mm.',
    'Counterbore for a socket head cap screw: 26 mm, 16.6 mm deep.',
  ]);
  expect(holeAdviceInWords(holeAdvice(6.8))[1]).toBe('Tapped it would be M8 (minor diameter 6.647 to 6.912 mm).');
});

test('threads of the first choice (ISO 261), and a hole that would be for another', () => {
  for (const thread of ['M3', 'M8', 'M20', 'M36']) expect(metricThread(thread).firstChoice, thread).toBe(true);
  for (const thread of ['M3.5', 'M7', 'M14', 'M22']) expect(metricThread(thread).firstChoice, thread).toBe(false);
  expect(holeAdviceInWords(holeAdvice(5.02))[1]).toBe('M4.5 is not of the first choice of ISO 261: look twice.');
});

test('sizes no hole has are refused with what to do', () => {
  const failure = (run: () => unknown) => {
    try {
      run();
    } catch (error) {
      return `${(error as FettleError).code}: ${(error as FettleError).message}`;
    }
    return 'nothing failed';
  };
  expect(failure(() => holeAdvice(300))).toMatch(/^hole-out-of-range: A hole of 300 mm .* Give its diameter in mm\.$/);
  expect(failure(() => holeAdvice(90.123456789))).toMatch(/^hole-out-of-range: A hole of 90\.123 mm is/);
  expect(failure(() => holeAdvice(0.5))).toMatch(/^hole-out-of-range/);
  expect(failure(() => holeAdvice(Number.NaN))).toMatch(/^hole-out-of-range/);
  expect(failure(() => holeAdvice(10, -1))).toMatch(/^bad-option/);
  expect(failure(() => clearanceHole('M9'))).toMatch(/^unknown-thread: "M9" .* nearest is "M8"/);
  expect(failure(() => tapDrill('M80'))).toMatch(/nearest is "M64"/);
  expect(failure(() => counterbore('bolt'))).toMatch(/^unknown-thread: "bolt"/);
});
