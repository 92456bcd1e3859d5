import type { Chart } from './chart.js';

/** Points of a chart summed over the cells of a square grid that hold any. */
export interface Cells {
  readonly chart: Chart;
  readonly count: number;
  /** Side, mm. */
  readonly step: number;
  /** Middle of the chart and half its diagonal, mm. */
  readonly middle: readonly [number, number];
  readonly reach: number;
  /** How far the chart reaches along x and y, mm. */
  readonly sides: readonly [number, number];
  /** Of each cell: how many points, and their mean place. */
  readonly points: Float64Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Columns and rows of the grid, and each cell's number in it: column + columns · row. */
  readonly columns: number;
  readonly rows: number;
  readonly place: Int32Array;
  /** The cell of each point of the chart. */
  readonly cellOf: Int32Array;
}

/** Cells about as many as wanted. */
export function cellsOf(chart: Chart, wanted: number): Cells {
  const { x, y, isCurve } = chart;
  const n = x.length;
  const low = [Infinity, Infinity];
  const high = [-Infinity, -Infinity];
  for (let i = 0; i < n; i++) {
    low[0] = Math.min(low[0], x[i]);
    high[0] = Math.max(high[0], x[i]);
    low[1] = Math.min(low[1], y[i]);
    high[1] = Math.max(high[1], y[i]);
  }
  const wide = high[0] - low[0];
  const tall = high[1] - low[1];
  let step = isCurve ? wide / wanted : Math.max(Math.sqrt((wide * tall) / wanted), Math.max(wide, tall) / wanted);
  let grid = gridOf(chart, low, wide, tall, step || 1);
  // A region that fills its rectangle poorly has fewer cells than wanted.
  const filled = grid.count / Math.max(1, grid.columns * grid.rows);
  if (!isCurve && filled < 0.7) {
    step *= Math.sqrt(Math.max(filled, 0.02));
    grid = gridOf(chart, low, wide, tall, step || 1);
  }
  return {
    chart,
    ...grid,
    middle: [low[0] + wide / 2, low[1] + tall / 2],
    reach: Math.hypot(wide, tall) / 2,
    sides: [wide, tall],
  };
}

function gridOf(
  { x, y }: Chart,
  low: readonly number[],
  wide: number,
  tall: number,
  step: number,
): Omit<Cells, 'chart' | 'middle' | 'reach' | 'sides'> {
  const columns = Math.floor(wide / step) + 1;
  const rows = Math.floor(tall / step) + 1;
  const cellAt = new Int32Array(columns * rows).fill(-1);
  const cellOf = new Int32Array(x.length);
  const place: number[] = [];
  for (let i = 0; i < x.length; i++) {
    const g = Math.floor((x[i] - low[0]) / step) + columns * Math.floor((y[i] - low[1]) / step);
    if (cellAt[g] < 0) cellAt[g] = place.push(g) - 1;
    cellOf[i] = cellAt[g];
  }
  const count = place.length;
  const points = new Float64Array(count);
  const mx = new Float64Array(count);
  const my = new Float64Array(count);
  for (let i = 0; i < x.length; i++) {
    const c = cellOf[i];
    points[c]++;
    mx[c] += x[i];
    my[c] += y[i];
  }
  for (let c = 0; c < count; c++) {
    mx[c] /= points[c];
    my[c] /= points[c];
  }
  return { count, step, points, x: mx, y: my, columns, rows, place: Int32Array.from(place), cellOf };
}

/** Sum over each cell of what stands at the sample's places. */
export function sumOver(cells: Cells, value: Float64Array): Float64Array {
  const { chart, cellOf } = cells;
  const sum = new Float64Array(cells.count);
  for (let i = 0; i < cellOf.length; i++) sum[cellOf[i]] += value[chart.points[i]];
  return sum;
}
