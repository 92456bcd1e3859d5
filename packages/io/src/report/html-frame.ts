import { type DatumFrame, expandedInWords, type Results, type Vec3 } from '@fettle/geom';
import { fixed } from '../text/number-text.js';
import { type Html, html } from './html-text.js';

/** Each datum frame: where it is in the scan, how well its datums agreed, how far it can be trusted. */
export function frameParts({ outcomes, plan }: Results): Html {
  const frames = outcomes.flatMap((outcome) => (outcome.kind === 'frame' ? [outcome] : []));
  if (frames.length === 0)
    return html`<p>The plan sets no datum frame: coordinates are in the scan's own axes, which say how the scanner stood.</p>`;
  return html`${frames.map(({ id, frame, uncertainty, warnings }) => {
    const step = plan.steps.find((one) => one.id === id);
    const { disagreement, angles } = frame;
    const facts = [
      ...(step?.step === 'frame' ? [datumsText(step)] : []),
      ...(angles
        ? [
            `Between the datum planes: primary and secondary ${degrees(angles.primarySecondary)}, primary and tertiary ${degrees(angles.primaryTertiary)}, secondary and tertiary ${degrees(angles.secondaryTertiary)}; 90° when square.`,
          ]
        : []),
      agreementText(disagreement),
      ...(uncertainty ? [`How far it can be trusted: ${expandedInWords(uncertainty)}.`] : []),
      ...warnings.map(({ message }) => `Warning: ${message}`),
    ];
    return html`<h3>${id}</h3>${step?.note ? html`<p class="lead">${step.note}</p>` : undefined}
<div class="wide"><table><caption>In the scan's own axes, mm</caption><thead><tr><th scope="col"></th><th scope="col" class="n">x</th><th scope="col" class="n">y</th><th scope="col" class="n">z</th></tr></thead><tbody>
${vectorRow('origin', frame.origin, 4)}${vectorRow('x axis', frame.x, 7)}${vectorRow('y axis', frame.y, 7)}${vectorRow('z axis', frame.z, 7)}</tbody></table></div>
<ul>${facts.map((fact) => html`<li>${fact}</li>`)}</ul>`;
  })}`;
}

/** Below this, mm or radians, datums agree because one was made from another. */
const ROUNDING = 1e-9;

function agreementText({ angle, distance, originOffPlane, originOffLine }: DatumFrame['disagreement']): string {
  const isMade = [angle, distance, originOffPlane, originOffLine].every((off) => Math.abs(off) < ROUNDING);
  if (isMade) return 'Line and origin were constructed on the primary datum: they agree with it exactly.';
  return (
    `Before they were made to agree, the line leaned ${degrees(angle)} out of the plane and passed ${fixed(distance, 3)} mm from it; ` +
    `the point for the origin lay ${fixed(originOffPlane, 3)} mm from the plane and ${fixed(originOffLine, 3)} mm from the line.`
  );
}

const degrees = (radians: number): string => `${fixed((radians * 180) / Math.PI, 4)}°`;

const vectorRow = (name: string, vector: Vec3, decimals: number): Html =>
  html`<tr><th scope="row">${name}</th>${vector.map((c) => html`<td class="n">${fixed(c, decimals)}</td>`)}</tr>`;

function datumsText(step: Extract<Results['plan']['steps'][number], { step: 'frame' }>): string {
  if ('planes' in step)
    return `Datums: A primary “${step.planes[0]}”, B secondary “${step.planes[1]}”, C tertiary “${step.planes[2]}”.`;
  return `Datums: A primary plane “${step.plane}”, B secondary line “${step.line}”, origin “${step.origin}”.`;
}
