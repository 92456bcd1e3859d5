import { type Step, type Vec3, vec3 } from '@fettle/geom';
import { bytesOf, writePly } from '@fettle/io';
import { beforeEach, expect, test } from 'vitest';
import { drawingAxes, onSheet } from '../../packages/viewer/src/drawing/drawing-axes.js';
import { fittedLabels } from '../../packages/viewer/src/drawing/fitted-labels.js';
import { keepProfile, sectionStepOf, setProfiling } from '../../packages/viewer/src/drawing/profiling.js';
import {
  changeShape,
  chooseRelation,
  dropStretch,
  keepStretch,
  pickedPiece,
  pickStretch,
  stepsKept,
  stretchingOf,
  trialOf,
} from '../../packages/viewer/src/drawing/stretching.js';
import { createSession } from '../../packages/viewer/src/session/create-session.js';
import type { Session } from '../../packages/viewer/src/session/session.js';
import { createMeasurer } from '../../packages/viewer/src/worker/measurer.js';
import type { PieceView } from '../../packages/viewer/src/worker/protocol.js';
import { part } from '../geom/plan-part.js';

// Picking on a section of the block, 10 mm under its top: front, side and hole, whose places are plain numbers.

const { scan, axes } = part({ noise: 0.01, step: 1 });
const file = () => new File([bytesOf(writePly(scan))], 'block.ply');
const skin = (id: string, center: Vec3, radius: number): Step => ({
  step: 'region',
  id,
  sphere: { center: axes.toScan(center), radius },
});
const steps: Step[] = [
  skin('top-skin', [70, 40, 0], 12),
  { step: 'fit', id: 'top', shape: 'plane', to: 'top-skin' },
  { step: 'section', id: 'cut', plane: 'top', offset: -10 },
];
/** The front 10 mm under the top, and the side. */
const frontY = (-10 * Math.sin((3 * Math.PI) / 180)) / Math.cos((3 * Math.PI) / 180);
const sideX = -10 * Math.tan((2 * Math.PI) / 180);
const at = (x: number, y: number): Vec3 => axes.toScan([x, y, -10]);

let session: Session;
beforeEach(async () => {
  session = createSession({ measurer: createMeasurer('http://localhost/') });
  await session.restored;
  await session.openFile(file());
  expect(await session.append(steps)).toBe(true);
});
const now = () => stretchingOf(session).peek();
const front = { from: at(20, frontY), to: at(100, frontY) };
const sizeNamed = (name: string) =>
  trialOf(now()!.stretches.at(-1)!)?.view?.row?.values.find((v) => v.name === name)?.value;

test('the profile of a section: its straight faces as long as the block, and the hole', async () => {
  const { pieces, corners } = await session.measurer.profile(session.plan.value, 'cut', 0.02);
  const told = pieces.map(({ kind, length, radius }) => ({ kind, length: Math.round(length), radius }));
  expect(told.filter(({ kind }) => kind === 'line').map(({ length }) => length)).toEqual([120, 80]);
  const [hole] = told.filter(({ kind }) => kind === 'arc');
  expect(Math.abs(hole!.radius! - 8)).toBeLessThan(0.01);
  const round = pieces.find(({ kind }) => kind === 'arc')!;
  expect(vec3.distance(round.center!, at(40, 30))).toBeLessThan(0.02);
  for (let i = 0; i < round.line.length; i += 3) {
    const place: Vec3 = [round.line[i]!, round.line[i + 1]!, round.line[i + 2]!];
    expect(vec3.distance(place, round.center!)).toBeCloseTo(round.radius!, 9);
  }
  // The faces are separate patches: no corner is told where they come near each other.
  expect(corners).toEqual([]);
});

test('a profile of what is no section is refused, in words', async () => {
  await expect(session.measurer.profile(session.plan.value, 'top', 0.02)).rejects.toMatchObject({
    code: 'no-section',
    message: 'top is no section of the plan. Cut one first.',
  });
});

test('the latest profile counts, one asked for before it is moot', async () => {
  const { measurer, plan } = session;
  const [first, second] = await Promise.all([
    measurer.profile(plan.value, 'cut', 0.05),
    measurer.profile(plan.value, 'cut', 0.02),
  ]);
  expect(first).toEqual({ pieces: [], corners: [], moot: true });
  expect(second.moot).toBeUndefined();
  expect(second.pieces.length).toBe(3);
});

test('a straight stretch is a line, a round one a circle: both are tried', async () => {
  await pickStretch(session, front, { section: 'cut', at: front.to });
  expect(now()!.stretches[0].shape).toBe('line');
  expect(trialOf(now()!.stretches[0])!.view!.row!.rms).toBeLessThan(0.02);
  expect(Object.keys(now()!.stretches[0].trials)).toEqual(['line', 'circle']);
  const turn = (a: number): Vec3 => at(40 + 8 * Math.cos(a), 30 + 8 * Math.sin(a));
  await pickStretch(session, { from: turn(0.5), to: turn(3) }, { section: 'cut', at: turn(3) });
  expect(now()!.stretches).toHaveLength(1);
  expect(now()!.stretches[0].shape).toBe('circle');
  expect(Math.abs(sizeNamed('diameter')! - 16)).toBeLessThan(0.05);
  await changeShape(session, 'line');
  expect(trialOf(now()!.stretches[0])!.view!.row!.rms).toBeGreaterThan(0.5);
  dropStretch(session);
  expect(now()).toBeUndefined();
});

test('a piece of the profile is picked by its own ends; what goes all around by a box', async () => {
  const { pieces } = await session.measurer.profile(session.plan.value, 'cut', 0.02);
  const [line, hole] = (['line', 'arc'] as const).map((kind) => pieces.find((p) => p.kind === kind)!) as [
    PieceView,
    PieceView,
  ];
  expect(pickedPiece(line)).toEqual({ from: line.first, to: line.last });
  expect(pickedPiece(hole)).toMatchObject({ margin: 0.3 });
  await pickStretch(session, pickedPiece(hole), { section: 'cut', at: hole.center!, shape: 'circle' });
  expect(Math.abs(sizeNamed('diameter')! - 16)).toBeLessThan(0.01);
  expect(await keepStretch(session)).toBe(true);
  expect(session.plan.value.steps.at(-1)).toMatchObject({ step: 'fit', id: 'circle-1', shape: 'circle', to: 'cut' });
  expect(session.selected.value).toEqual(['circle-1']);
  expect(now()).toBeUndefined();
});

test('of two lines the angle is offered first, of a circle and a line their distance; kept with both fits', async () => {
  const side = { from: at(sideX, 10), to: at(sideX, 70) };
  await pickStretch(session, front, { section: 'cut', at: front.to });
  await pickStretch(session, side, { section: 'cut', at: side.to, isSecond: true });
  const { relations, chosen } = now()!;
  expect(relations!.map(({ step }) => step.id)).toEqual(['distance-1', 'angle-1']);
  expect(relations![chosen!]!.step.id).toBe('angle-1');
  expect(Math.abs(relations![chosen!]!.view.row!.values[0]!.value - 90)).toBeLessThan(0.05);

  const hole = { about: [at(31.5, 21.5), at(48.5, 38.5)], margin: 0.3 };
  await pickStretch(session, hole, { section: 'cut', at: at(40, 38), shape: 'circle', isSecond: true });
  const measured = now()!;
  const { step, view } = measured.relations![measured.chosen!]!;
  expect('distance' in step).toBe(true);
  expect(Math.abs(view.row!.values[0]!.value - (30 - frontY))).toBeLessThan(0.03);
  chooseRelation(session, undefined);
  expect(stepsKept(now()!).map(({ id }) => id)).toEqual(['line-1', 'circle-1']);
  chooseRelation(session, 0);
  expect(await keepStretch(session)).toBe(true);
  expect(session.plan.value.steps.slice(3).map(({ id }) => id)).toEqual(['line-1', 'circle-1', 'distance-1']);

  // The drawing shows them: the circle's size, and the distance from center to line, none over another.
  const { section } = session.run.value.steps.find(({ id }) => id === 'cut')!;
  const rig = { x: 0, y: 0, scale: 1, width: 1600, height: 1600 };
  const sheet = drawingAxes(session, section!);
  const centered = { ...rig, x: onSheet(sheet, at(60, 40))[0], y: onSheet(sheet, at(60, 40))[1] };
  const labels = fittedLabels(session, 'cut', sheet, centered);
  expect(labels.map(({ view }) => view.id)).toEqual(['line-1', 'circle-1', 'distance-1']);
  expect(labels[0]!.text).toBe('');
  const written = (text: string) => /^(⌀?)(\d+\.\d+) ± 0\.\d+$/.exec(text)!;
  expect(written(labels[1]!.text)[1]).toBe('⌀');
  expect(Number(written(labels[1]!.text)[2])).toBeCloseTo(16, 1);
  expect(written(labels[2]!.text)[1]).toBe('');
  expect(Number(written(labels[2]!.text)[2])).toBeCloseTo(30 - frontY, 1);
  const [[ax, ay], [bx, by]] = labels[2]!.between!;
  expect(Math.abs(Math.hypot(bx - ax, by - ay) - (30 - frontY))).toBeLessThan(0.03);
  for (const [i, { box: a }] of labels.entries())
    for (const { box: b } of labels.slice(i + 1))
      expect(a.right < b.left || b.right < a.left || a.bottom < b.top || b.bottom < a.top).toBe(true);
});

test('a profile goes on the job sheet, of the outline picked from; its pieces are numbered as there; it is taken off', async () => {
  const hole = { about: [at(31.5, 21.5), at(48.5, 38.5)], margin: 0.3 };
  await pickStretch(session, hole, { section: 'cut', at: at(48, 30), shape: 'circle' });
  expect(await keepProfile(session, 'cut')).toBe(true);
  expect(sectionStepOf(session, 'cut')!.profile).not.toHaveProperty('tolerance');
  expect(await keepProfile(session, 'cut')).toBe(true);
  expect(sectionStepOf(session, 'cut')!.profile).toBeUndefined();
  await pickStretch(session, hole, { section: 'cut', at: at(48, 30), shape: 'circle' });
  setProfiling(session, { tolerance: 0.04 });
  expect(await keepProfile(session, 'cut')).toBe(true);
  const row = () => session.run.value.steps.find(({ id }) => id === 'cut')!.row;
  expect(row()!.values.map(({ name }) => name)).toContain('radius-1');
  expect(Math.abs(row()!.values[0]!.value - 8)).toBeLessThan(0.01);
  expect(sectionStepOf(session, 'cut')!.profile).toMatchObject({ tolerance: 0.04 });
  const { pieces } = await session.measurer.profile(session.plan.value, 'cut', 0.02);
  expect(pieces.map(({ kind, number }) => [kind, number])).toContainEqual(['arc', 1]);
  expect(pieces.filter(({ kind }) => kind === 'line').every(({ number }) => number === undefined)).toBe(true);
  expect(await keepProfile(session, 'cut')).toBe(true);
  expect(row()?.values ?? []).toEqual([]);
});
