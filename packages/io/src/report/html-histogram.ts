import { num } from '../drawing/svg-text.js';
import { countText, fixed, shortNumber } from '../text/number-text.js';
import { cssColor, divergingColor } from './html-diverging.js';
import { type Html, html, raw } from './html-text.js';

const WIDTH = 360;
const HEIGHT = 220;
const BINS = 41;
const [LEFT, RIGHT, TOP, BOTTOM] = [14, 346, 12, 176];

/** How often each residual occurs, over the range of the map's colors; what lies beyond is in the outermost bars. mm. */
export function residualHistogram(residuals: Float64Array, range: number, rms: number): Html {
  const counts = new Array<number>(BINS).fill(0);
  for (const residual of residuals) {
    const bin = Math.floor(((residual / range + 1) / 2) * BINS);
    counts[Math.max(0, Math.min(BINS - 1, bin))]!++;
  }
  const most = Math.max(1, ...counts);
  const x = (mm: number): number => LEFT + ((mm / range + 1) / 2) * (RIGHT - LEFT);
  const width = (RIGHT - LEFT) / BINS;
  const bars = counts.map((count, b) => {
    const height = (count / most) * (BOTTOM - TOP);
    const color = cssColor(divergingColor((2 * (b + 0.5)) / BINS - 1));
    return `<rect x="${num(LEFT + b * width)}" y="${num(BOTTOM - height)}" width="${num(width)}" height="${num(height)}" fill="${color}" stroke="#4d555e" stroke-width="0.5"/>`;
  });
  const beyond = residuals.reduce((sum, r) => sum + (Math.abs(r) > range ? 1 : 0), 0);
  const ticks = [-range, -range / 2, 0, range / 2, range].map(
    (mm) =>
      `<path d="M${num(x(mm))} ${BOTTOM}v5" stroke="#16191d"/><text x="${num(x(mm))}" y="${BOTTOM + 18}" text-anchor="${mm === -range ? 'start' : mm === range ? 'end' : 'middle'}">${shortNumber(mm, 6)}</text>`,
  );
  const marks = [-rms, rms]
    .filter((mm) => Math.abs(mm) <= range)
    .map((mm) => `<path d="M${num(x(mm))} ${TOP}V${BOTTOM}" stroke="#16191d" stroke-dasharray="4 3"/>`);
  const label = `Histogram of ${countText(residuals.length)} residuals from -${shortNumber(range, 6)} to ${shortNumber(range, 6)} mm, root mean square ${fixed(rms, 3)} mm`;
  const caption = `Residuals, mm. Dashed: ± rms ${fixed(rms, 3)} mm.${beyond > 0 ? ` ${countText(beyond)} lie beyond the ends and are in the outermost bars.` : ''}`;
  return html`<figure>${raw(`<svg viewBox="0 0 ${WIDTH} ${HEIGHT - 20}" role="img" aria-label="${label}" font-family="Arial, Helvetica, sans-serif" font-size="12" fill="#16191d">${bars.join('')}<path d="M${LEFT} ${BOTTOM}H${RIGHT}" stroke="#16191d"/>${ticks.join('')}${marks.join('')}</svg>`)}<figcaption>${caption}</figcaption></figure>`;
}
