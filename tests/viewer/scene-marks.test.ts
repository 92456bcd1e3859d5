import { expect, test } from 'vitest';
import { marksShown, selectedPoints } from '../../packages/viewer/src/scene/scene-marks.js';
import { MARK } from '../../packages/viewer/src/scene/surface.js';
import type { Draft } from '../../packages/viewer/src/session/session.js';
import type { PointsView } from '../../packages/viewer/src/worker/protocol.js';

const region: PointsView = { points: Uint32Array.of(1, 2, 3) };
const fit: PointsView = {
  points: Uint32Array.of(1, 2, 3),
  residuals: Float32Array.of(0.01, -0.03, 0.04),
  rejected: Uint32Array.of(9),
};
const draft: Draft = {
  steps: [],
  choice: { points: Uint32Array.of(4, 5), count: 2, spread: 0 },
  fit: {
    step: { step: 'fit', id: 'plane-1', shape: 'plane', to: 'region-1' },
    view: { id: 'plane-1', step: 'fit', rejected: Uint32Array.of(5) },
  },
};

test('a region that is selected is marked, a fit is mapped with what it rejected over it', () => {
  expect(marksShown(selectedPoints('a', region), undefined, undefined)).toEqual([
    { points: region.points, mark: MARK.selected },
  ]);
  expect(marksShown(selectedPoints('a', fit), undefined, undefined)).toEqual([
    { points: fit.points, mark: MARK.mapped, residuals: fit.residuals },
    { points: fit.rejected, mark: MARK.rejected },
  ]);
});

test('the scale of a map ends at a round number that holds nearly all residuals', () => {
  expect(selectedPoints('a', fit).range).toBe(0.05);
  expect(selectedPoints('a', region).range).toBeUndefined();
  expect(selectedPoints('a', { ...region, residuals: new Float32Array() }).range).toBeUndefined();
});

test('a draft takes the place of what is selected; the points its fit rejects lie over it, a preview over all', () => {
  const preview = Uint32Array.of(5, 6);
  expect(marksShown(selectedPoints('a', fit), draft, preview)).toEqual([
    { points: draft.choice!.points, mark: MARK.draft },
    { points: draft.fit!.view!.rejected, mark: MARK.rejected },
    { points: preview, mark: MARK.preview },
  ]);
});

test('nothing chosen, nothing marked', () => {
  expect(marksShown(undefined, undefined, undefined)).toEqual([]);
});
