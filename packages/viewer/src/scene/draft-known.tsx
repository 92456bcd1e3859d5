import type { JSX } from 'preact';
import { type Drafting, type DraftKnown, isConical, isDirected, isRound } from '../choosing/drafting.js';
import { DirectionField } from '../paper/direction-field.js';
import { NumberField } from '../paper/number-field.js';
import { SelectField } from '../paper/select-field.js';
import type { Session } from '../session/session.js';

export interface DraftKnownProps {
  readonly session: Session;
  readonly drafting: Drafting;
  /** The shape that is fitted. */
  readonly chosen: string | undefined;
}

const TYPED = ' typed';

/** What is known before the fit: a size by hand, typed or from a row, and a direction. */
export function DraftKnownFields({ session, drafting, chosen }: DraftKnownProps): JSX.Element | null {
  const { diameter, direction, halfAngle } = drafting.known.value;
  const sizes = session.plan.value.steps.filter((step) => step.step === 'by-hand' && 'size' in step);
  const steps = session.run.value.steps;
  const frame = steps.findLast(({ matrix }) => matrix !== undefined)?.id ?? 'the scan';
  const directed = steps.filter(({ feature }) => feature && feature.kind !== 'point' && feature.kind !== 'sphere');
  const set = (change: DraftKnown): void => {
    drafting.known.value = { ...drafting.known.peek(), ...change };
  };
  if (!isDirected(chosen) && !isRound(chosen)) return null;
  return (
    <div class="known">
      {isRound(chosen) && sizes.length > 0 && (
        <SelectField
          name="Diameter"
          hint="From the scan, or a size by hand: then the scan gives the place alone"
          none="from the scan"
          value={typeof diameter === 'string' ? diameter : diameter === undefined ? undefined : TYPED}
          offers={[
            ...(typeof diameter === 'number' ? [{ value: TYPED, words: `${diameter} mm` }] : []),
            ...sizes.map(({ id }) => ({ value: id, words: `${id}, by hand` })),
          ]}
          onPick={(picked) => picked !== TYPED && set({ diameter: picked })}
        />
      )}
      {isRound(chosen) && typeof diameter !== 'string' && (
        <NumberField
          name="Diameter by hand"
          hint="Typed, it is taken as it stands, and the scan gives the place alone"
          unit="mm"
          placeholder="none"
          value={diameter}
          onNumber={(typed) => set({ diameter: typed !== undefined && typed > 0 ? typed : undefined })}
        />
      )}
      {isConical(chosen) && (
        <NumberField
          name="Half-angle by hand"
          hint="Between axis and surface; of a countersink half of what is on the drawing. Typed, it is taken as it stands"
          unit="°"
          placeholder="none"
          value={halfAngle}
          onNumber={(typed) => set({ halfAngle: typed !== undefined && typed > 0 && typed < 90 ? typed : undefined })}
        />
      )}
      {isDirected(chosen) && (
        <DirectionField
          hint="A direction that is known, as of a bore that was made square to a face"
          name={chosen === 'plane' || chosen === 'circle' ? 'Normal along' : 'Axis along'}
          value={direction}
          rows={directed.map(({ id }) => id)}
          frame={frame}
          onDirection={(known) => set({ direction: known })}
        />
      )}
    </div>
  );
}
