// Small helps for pages that work without them. Each module looks for its own data- attribute and does nothing
// when there is none.
import "./plain.js";
import { startGrids } from "./grid.js";
import { startOutlines } from "./outline.js";
import { startSuggest } from "./suggest.js";

startGrids(document);
startOutlines(document);
startSuggest(document);

// On narrow screens tabs and rail scroll: the sheet one is on should be in sight.
document.querySelector(".tabs [aria-current], .rail [aria-current=\"page\"]")?.scrollIntoView({ block: "nearest", inline: "center" });
