/** What messages about a scan open with: its name, or 'scan' where a script made it without one. */
export const scanName = (scan: { readonly name?: string }): string => scan.name ?? 'scan';
