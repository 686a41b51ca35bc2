from tests.access import row

# Open to everyone; no worker runs beside the tests, and the page says so with 503.
ROWS = [
    row("get", "healthz", {}, {"*": 503}),
    # What requests there are is no secret.
    row("get", "api-schema", {}, {"*": 200}),
]
