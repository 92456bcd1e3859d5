/** Version of the library; the same as in package.json. */
export const version = '0.1.0';
