"""Somebody at a laptop or with a phone: a browser context of his own that tells what went wrong."""

import re
from contextlib import contextmanager
from urllib.parse import urlsplit

PASSWORD = "brass-lantern-41"
SIZES = {"laptop": {"width": 1280, "height": 800}, "phone": {"width": 390, "height": 844}}
STATUS_LINE = re.compile(r"^Failed to load resource: the server responded with a status of (\d+)")
TELL_VIOLATIONS = """
document.addEventListener("securitypolicyviolation", (event) =>
  console.error(`CSP: ${event.violatedDirective} ${event.blockedURI} ${event.sourceFile}`));
"""


class Person:
    """One browser context. `faults` fills with console errors, page errors and CSP violations."""

    def __init__(self, browser, address: str, *, on: str = "laptop"):
        self.address, self.faults, self.touched = address, [], {}
        self.expected: set[int] = set()
        touch = {"has_touch": True, "is_mobile": True} if on == "phone" else {}
        self.context = browser.new_context(viewport=SIZES[on], base_url=address, **touch)
        self.context.add_init_script(TELL_VIOLATIONS)
        self.context.on("console", self._console)
        self.context.on("weberror", lambda error: self.faults.append(f"page: {error.error}"))
        self.context.on("response", self._response)
        self.page = self.context.new_page()
        self.page.set_default_timeout(20_000)

    def _console(self, message) -> None:
        if message.type != "error":
            return
        line = STATUS_LINE.match(message.text)
        if line and int(line.group(1)) in self.expected:
            return
        self.faults.append(f"console: {message.text} ({message.location.get('url')})")

    def _response(self, response) -> None:
        """Remember each address of the portal that this person's browser asked for."""
        if not response.url.startswith(self.address):
            return
        parts = urlsplit(response.url)
        path = parts.path + (f"?{parts.query}" if parts.query else "")
        self.touched.setdefault((response.request.method, path), response.status)

    @contextmanager
    def expecting(self, *statuses: int):
        """These answers are what the step is about: the browser's own line for them is no fault."""
        self.expected |= set(statuses)
        yield
        # The line may come a moment after the page.
        self.page.wait_for_load_state("networkidle")
        self.expected -= set(statuses)

    def go(self, path: str):
        return self.page.goto(path)

    def press(self, name: str) -> None:
        """Press the button of this name and wait for the page that follows."""
        with self.page.expect_navigation():
            self.page.get_by_role("button", name=name, exact=True).first.click()

    def follow(self, name: str) -> None:
        with self.page.expect_navigation():
            self.page.get_by_role("link", name=name, exact=True).first.click()

    def fill(self, **fields: str) -> None:
        """Fill fields by name; a selection is made by its value."""
        for name, value in fields.items():
            control = self.page.locator(f"[name={name}]:visible").first
            if control.evaluate("element => element.tagName") == "SELECT":
                control.select_option(value)
            else:
                control.fill(value)

    def text(self) -> str:
        return self.page.locator("main").inner_text()

    def sign_in(self, email: str, password: str = PASSWORD) -> "Person":
        self.go("/accounts/login/")
        self.fill(login=email, password=password)
        self.press("Sign in")
        assert "/accounts/login/" not in self.page.url, self.text()
        return self

    def api(self, method: str, path: str, **body):
        """An API request with this person's session, as a script on the page would make it."""
        cookies = {cookie["name"]: cookie["value"] for cookie in self.context.cookies()}
        token = cookies.get("csrftoken", "")
        headers = {"X-CSRFToken": token, "Origin": self.address, "Accept": "application/json"}
        more = {"data": body} if body else {}
        answer = self.context.request.fetch(path, method=method, headers=headers, **more)
        self.touched.setdefault((method, path), answer.status)
        return answer

    def check(self) -> None:
        assert self.faults == []

    def close(self) -> None:
        self.context.close()
