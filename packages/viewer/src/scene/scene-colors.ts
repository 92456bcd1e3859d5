import { Color } from 'three';
import type { SurfaceColors } from './surface.js';

/** Colors of the scene as the page's style says them (custom properties of the root), linear for the shader. */
export interface SceneColors {
  readonly surface: SurfaceColors;
  readonly paper: Color;
  readonly ink: Color;
  readonly accent: Color;
  readonly datum: Color;
}

const NAMES = ['skin', 'inside', 'draft', 'selected', 'rejected', 'low', 'middle', 'high'] as const;

export function sceneColors(): SceneColors {
  const style = getComputedStyle(document.documentElement);
  const color = (name: string): Color => new Color(style.getPropertyValue(`--${name}`).trim() || '#888888');
  return {
    surface: Object.fromEntries(NAMES.map((name) => [name, color(`scan-${name}`)])) as unknown as SurfaceColors,
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
