import { config } from 'zod/v4/core';

// A strict content policy allows no code made at run time, which zod would otherwise try when its schemas are made: this module comes
// before all others.
config({ jitless: true });
