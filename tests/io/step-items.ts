import type { StepItem } from '@fettle/io';

const r = Math.SQRT1_2;

/** One of every kind of item, none along the axes only. */
export const everyKind: readonly StepItem[] = [
  { kind: 'plane', name: 'top', point: [1, 2, 3], normal: [0, r, r], along: [1, 1, -1], size: [40, 20] },
  { kind: 'cylinder', name: 'bore', point: [10, 0, 0], direction: [0, 0.6, 0.8], radius: 26, span: [-5, 40] },
  {
    kind: 'cylinder',
    name: 'fillet',
    point: [10, 7, -4],
    direction: [0, r, -r],
    radius: 6,
    span: [-5, 40],
    turn: { start: [1, 1, 1], sweep: 1.5 },
  },
  { kind: 'cone', name: 'seat', apex: [3, -4, 50], direction: [0, 0.6, -0.8], halfAngle: 0.5, span: [3, 9] },
  { kind: 'cone', name: 'tip', apex: [0, 0, 50], direction: [0.6, 0.8, 0], halfAngle: 0.7, span: [0, 9] },
  {
    kind: 'cone',
    name: 'split-tip',
    apex: [8, 0, 50],
    direction: [1, 0, 0],
    halfAngle: 0.4,
    span: [0, 9],
    turn: { start: [0, 1, 0], sweep: 4 },
  },
  {
    kind: 'cone',
    name: 'chamfer',
    apex: [8, 0, 50],
    direction: [0, 0, -1],
    halfAngle: Math.PI / 4,
    span: [2, 9],
    turn: { start: [1, 2, 0], sweep: 5.5 },
  },
  { kind: 'sphere', name: 'knob', center: [7, 8, 9], radius: 12, cap: { toward: [1, 1, 1], halfAngle: 1 } },
  { kind: 'sphere', name: 'big-knob', center: [7, 8, -9], radius: 5, cap: { toward: [-1, 2, 0], halfAngle: 2.5 } },
  { kind: 'sphere', name: 'ball', center: [70, 8, 9], radius: 12 },
  { kind: 'line', name: 'edge', point: [1, 1, 1], direction: [0.6, 0, 0.8], span: [-3, 7] },
  { kind: 'circle', name: 'hole', center: [5, 5, 0], normal: [0, r, r], radius: 9 },
  { kind: 'ellipse', name: 'oval', center: [5, 5, 2], normal: [0.6, 0.8, 0], direction: [0, 0, 1], major: 9, minor: 4 },
  { kind: 'slot', name: 'slot', center: [5, 5, 1], normal: [0, 0, 1], direction: [0.6, 0.8, 0], length: 19, width: 4 },
  { kind: 'point', name: 'corner', position: [1, 2, 3.5] },
  { kind: 'frame', name: 'datum', origin: [4, 5, 6], x: [0.6, 0.8, 0], y: [-0.8, 0.6, 0], size: 25 },
  {
    kind: 'wire',
    name: 'outline',
    chains: [
      [
        { kind: 'line', start: [0, 0, 0], end: [10, 0, 0] },
        { kind: 'arc', start: [10, 0, 0], end: [12, 2, 0], center: [10, 2, 0], normal: [0, 0, 1], sweep: Math.PI / 2 },
        { kind: 'line', start: [12, 2, 0], end: [12, 12, 0] },
        {
          kind: 'arc',
          start: [12, 12, 0],
          end: [15, 15, 0],
          center: [15, 12, 0],
          normal: [0, 0, -1],
          sweep: Math.PI / 2,
        },
      ],
      [{ kind: 'arc', start: [3, 0, 5], end: [3, 0, 5], center: [0, 0, 5], normal: [0, 0, 1], sweep: 2 * Math.PI }],
      [
        { kind: 'line', start: [0, 0, 9], end: [5, 0, 9] },
        { kind: 'line', start: [5, 0, 9], end: [0, 5, 9] },
        { kind: 'line', start: [0, 5, 9], end: [0, 0, 9] },
      ],
    ],
  },
];
