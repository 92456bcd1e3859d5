import { cssColor, divergingColor } from '@fettle/io';
import type { JSX } from 'preact';
import type { Session } from '../session/session.js';
import type { SceneView } from './scene-view.js';

const STEPS = 21;

/** What the colors of the residual map mean, mm. */
export function ResidualLegend({
  session,
  view,
}: {
  readonly session: Session;
  readonly view: SceneView;
}): JSX.Element | null {
  const map = view.map.value;
  if (!map) return null;
  const row = session.run.value.steps.find(({ id }) => id === map.id)?.row;
  const rejected = row?.rejected ?? 0;
  return (
    <figure
      class="legend"
      aria-label={`Distances of the points from ${map.id}, from −${map.range} to +${map.range} mm`}
    >
      <figcaption>{map.id}: off the fit, mm</figcaption>
      <Scale />
      <div class="ends">
        <span>−{map.range}</span>
        <span>0</span>
        <span>+{map.range}</span>
      </div>
      <div class="ends words">
        <span>below, inside</span>
        <span>above, outside</span>
      </div>
      {rejected > 0 && (
        <div class="rejected">
          <i />
          {rejected.toLocaleString('en-US')} rejected
        </div>
      )}
    </figure>
  );
}

const shares = Array.from({ length: STEPS }, (_, i) => (2 * i) / (STEPS - 1) - 1);

const Scale = (): JSX.Element => (
  <svg viewBox={`0 0 ${STEPS} 1`} preserveAspectRatio="none" aria-hidden="true">
    {shares.map((share, i) => (
      <rect key={share} x={i} y={0} width={1.02} height={1} fill={cssColor(divergingColor(share))} />
    ))}
  </svg>
);
