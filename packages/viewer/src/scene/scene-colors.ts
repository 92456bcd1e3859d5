import { divergingColor } from '@fettle/io';
import { Color, LinearSRGBColorSpace } from 'three';
import type { SurfaceColors } from './surface.js';

/**
 * Colors of the scene: what the page's style says in custom properties of the root, and the scale of residuals the
 * report has too.
 */
export interface SceneColors {
  readonly surface: SurfaceColors;
  readonly paper: Color;
  readonly ink: Color;
  readonly accent: Color;
  readonly datum: Color;
}

/** Where the style says nothing. */
const UNKNOWN = '#888888';

/** Taken as it is shown, not turned linear. */
function residualColor(share: number): Color {
  const [r, g, b] = divergingColor(share);
  return new Color().setRGB(r / 255, g / 255, b / 255, LinearSRGBColorSpace);
}

export function sceneColors(): SceneColors {
  const style = getComputedStyle(document.documentElement);
  const color = (name: string): Color => new Color(style.getPropertyValue(`--${name}`).trim() || UNKNOWN);
  return {
    surface: {
      skin: color('scan-skin'),
      inside: color('scan-inside'),
      draft: color('scan-draft'),
      selected: color('scan-selected'),
      rejected: color('scan-rejected'),
      low: residualColor(-1),
      middle: residualColor(0),
      high: residualColor(1),
    },
    paper: color('paper'),
    ink: color('ink'),
    accent: color('accent'),
    datum: color('datum'),
  };
}

/** Calls back when the page turns from light to dark or back. */
export function watchScheme(changed: () => void): () => void {
  const dark = window.matchMedia('(prefers-color-scheme: dark)');
  dark.addEventListener('change', changed);
  return () => dark.removeEventListener('change', changed);
}
