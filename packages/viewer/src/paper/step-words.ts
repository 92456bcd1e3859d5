import type { Step } from '@fettle/geom';
import { counted, shortNumber } from '@fettle/io';
import type { StepView } from '../worker/protocol.js';

const signed = (mm: number): string => `${mm > 0 ? '+' : ''}${shortNumber(mm).replace('-', '−')}`;

/** Ways to choose points, by the field of the step that tells each. */
function regionWords(step: Extract<Step, { step: 'region' }>): string {
  const of = step.of === undefined || step.of === 'all' ? '' : ` of ${step.of}`;
  const without = step.without ? ` without ${step.without.join(', ')}` : '';
  if ('grow' in step) return `grown from ${counted(step.grow.from.length, 'place')}${of}${without}`;
  if ('brush' in step) return `brushed${of}${without}`;
  if ('outline' in step) return `inside an outline${of}${without}`;
  if ('box' in step) return `inside a box${of}${without}`;
  if ('sphere' in step) return `inside a sphere${of}${without}`;
  if ('off' in step) return `by distance off ${step.off.feature}${of}${without}`;
  if ('indices' in step) return `by number${of}${without}`;
  if ('join' in step) return `${step.join.join(' and ')} together${of}${without}`;
  return `${step.of === 'all' ? 'the whole scan' : step.of}${without}`;
}

/** What a step that has no row on the job sheet does, in words. */
export function stepWords(step: Step): string {
  switch (step.step) {
    case 'region':
      return regionWords(step);
    case 'section':
      if ('plane' in step) return `cut along ${step.plane}${step.offset ? `, ${signed(step.offset)} mm off` : ''}`;
      return `cut square to ${step.axis} at ${shortNumber(step.at).replace('-', '−')} mm${step.in ? ` in ${step.in}` : ''}`;
    case 'prepare': {
      const [what] = Object.keys(step).filter((key) => !['step', 'id', 'note'].includes(key));
      return `scan prepared: ${(what ?? '').replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`)}`;
    }
    case 'deliver': {
      if ('scan' in step) return `hands over the scan as ${step.scan.format.toUpperCase()}`;
      if ('cad' in step) return 'hands over geometry for CAD';
      if ('drawing' in step) return 'hands over a drawing';
      return 'picture' in step ? 'hands over a picture' : 'hands over the report';
    }
    default:
      return step.step;
  }
}

/** How much a step without a row holds: points and area. */
export function extentWords({ count, area }: Pick<StepView, 'count' | 'area'>): string {
  const parts: string[] = [];
  if (count !== undefined) parts.push(counted(count, 'point'));
  if (area !== undefined) parts.push(`${shortNumber(area / 100, area < 1000 ? 2 : 1)} cm²`);
  return parts.join(', ');
}
