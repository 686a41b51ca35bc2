import "./confirm-button.js";
import "./copy-text.js";
