/**
 * Steps that htmx takes on a page: sent with the token that holds now (somebody may have signed in
 * anew in another tab), and told where they were not taken, so that nobody believes them done.
 */
import { csrfToken } from "./http.js";

const line = () => document.getElementById("not-done");

function tell(why) {
  const shown = line();
  if (!shown) return;
  shown.textContent = shown.dataset[why];
  shown.hidden = false;
}

document.addEventListener("htmx:configRequest", ({ detail }) => {
  const token = csrfToken();
  if (!token) return;
  detail.headers["X-CSRFToken"] = token;
  if (detail.parameters.csrfmiddlewaretoken) detail.parameters.csrfmiddlewaretoken = token;
});

// What only reads tries again by itself, or leaves its place empty: that is no step.
const isStep = (detail) => detail.requestConfig?.verb !== "get";

document.addEventListener("htmx:responseError", ({ detail }) => {
  if (detail.xhr.status === 403 && detail.xhr.getResponseHeader("X-Signed-Out")) tell("signedOut");
  else if (isStep(detail)) tell("failed");
});
document.addEventListener("htmx:sendError", ({ detail }) => isStep(detail) && tell("offline"));
document.addEventListener("htmx:afterRequest", ({ detail }) => {
  if (detail.successful && isStep(detail) && line()) line().hidden = true;
});
