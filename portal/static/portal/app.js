import "./confirm-button.js";
import "./copy-text.js";
import "./steps.js";
