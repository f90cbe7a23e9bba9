// On every page: says when the program has been closed, and explains the trade's words where they stand.
import { watch } from "./alive.js";
import { explainWords } from "./words.js";

watch();
explainWords(document.querySelector("#main"));
