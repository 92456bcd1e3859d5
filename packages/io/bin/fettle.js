#!/usr/bin/env node
import { main } from '../dist/node/commands/main.js';

process.exitCode = await main(process.argv.slice(2));
