// Starts what every page has.

import { open } from "./link.js";
import * as plots from "./plots.js";
import * as words from "./words.js";

plots.start();
words.start();
open();
// for tests and the curious: how much was drawn
window.diodewright = plots.counted;
