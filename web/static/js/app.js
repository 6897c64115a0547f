// Small helps for pages that work without them. Each module looks for its own data- attribute and does nothing
// when there is none.
import "./plain.js";
import { startGrids } from "./grid.js";
import { startFind } from "./find.js";
import { startKeep } from "./keep.js";
import { startSend } from "./send.js";
import { startOutlines } from "./outline.js";
import { startPieces } from "./piece.js";
import { startSuggest } from "./suggest.js";

startSend(document);
startGrids(document);
startOutlines(document);
startSuggest(document);
startPieces(document);
startKeep(document);
startFind(document);

// A page prints with those of its folds open that belong on paper; afterwards they are as they were.
addEventListener("beforeprint", () => {
  for (const fold of document.querySelectorAll("details.prints:not([open])")) {
    fold.open = true;
    fold.dataset.printed = "";
  }
});
addEventListener("afterprint", () => {
  for (const fold of document.querySelectorAll("details[data-printed]")) {
    fold.open = false;
    delete fold.dataset.printed;
  }
});

// On narrow screens tabs and rail scroll: the sheet one is on should be in sight.
document.querySelector(".tabs [aria-current], .rail [aria-current=\"page\"]")?.scrollIntoView({ block: "nearest", inline: "center" });
