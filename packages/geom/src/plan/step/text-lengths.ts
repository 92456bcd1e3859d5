/** Letters a title or an id may have: a file is named by its id, and most systems take 255 bytes for a name. */
export const LONGEST_TITLE = 200;

/** Letters a note may have. */
export const LONGEST_NOTE = 2000;
