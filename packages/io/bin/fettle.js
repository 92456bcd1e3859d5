#!/usr/bin/env node
import { main } from '../dist/node/command.js';

process.exitCode = await main(process.argv.slice(2));
