/* The one entry of every page. Behaviours attach through data- attributes; a page without this file still works. */
import { keepAnswersInPlace } from "./behaviours/answers.js";
import { submitOnChange } from "./behaviours/autosubmit.js";
import { dragWorkToWeeks } from "./behaviours/drag.js";
import { goToFirstField } from "./behaviours/first_field.js";
import { keepFocus } from "./behaviours/focus.js";
import { refuseDoubleSubmits } from "./behaviours/once.js";
import { keepTyped } from "./behaviours/keep_typed.js";
import { poll } from "./behaviours/poll.js";
import { removeParts } from "./behaviours/remove.js";
import { sayChanges } from "./behaviours/say.js";
import { stepNumbers } from "./behaviours/step.js";
import { switchTheme } from "./behaviours/theme.js";
import { warnOfUnsaved } from "./behaviours/unsaved.js";

stepNumbers();
goToFirstField();
switchTheme();
removeParts();
sayChanges();
keepTyped();
keepFocus();
keepAnswersInPlace();
refuseDoubleSubmits();
submitOnChange();
warnOfUnsaved();
dragWorkToWeeks();
poll();
document.documentElement.dataset.ready = "yes";
