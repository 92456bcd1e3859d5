import type { TargetedKeyboardEvent } from 'preact';

/**
 * Of a field that is in no form: Enter takes what was typed, Escape leaves it as it was; either gives the keys back to the page. In a form
 * both are the form's.
 *
 * @param was what stood there before
 */
export function leaveField(event: TargetedKeyboardEvent<HTMLInputElement>, was: string): void {
  const field = event.currentTarget;
  if ((event.key !== 'Enter' && event.key !== 'Escape') || field.form) return;
  event.preventDefault();
  event.stopPropagation();
  if (event.key === 'Escape') field.value = was;
  field.blur();
}
