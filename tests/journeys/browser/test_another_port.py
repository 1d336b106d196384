"""Another service of the same host: our cookie is sent with its form, and it is refused."""

from http.server import BaseHTTPRequestHandler, HTTPServer
from threading import Thread

from playwright.sync_api import expect


class Neighbour(BaseHTTPRequestHandler):
    """Another service of the same host: its pages send a form, and a script's request, to ours."""

    target = ""

    def do_GET(self):
        body = (
            f'<form method="post" action="{self.target}"><button>Win a mower</button></form>'
        ).encode()
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_):
        """Say nothing."""


def test_a_page_of_another_port_has_the_cookie_sent_and_is_refused(demo, device):
    joined = device.join(demo.invite("dispatcher"), 1280)
    page = joined.page
    handler = type("OfThisTest", (Neighbour,), {"target": f"{demo.address}/screens/leave"})
    served = HTTPServer(("127.0.0.1", 0), handler)
    Thread(target=served.serve_forever, daemon=True).start()
    page.goto(f"http://127.0.0.1:{served.server_port}/")
    with page.expect_response(lambda one: one.request.method == "POST") as answer:
        page.get_by_role("button", name="Win a mower").click()
    sent = answer.value.request.all_headers()
    served.shutdown()
    served.server_close()
    assert answer.value.status == 403
    assert "session-" in sent.get("cookie", "")
    page.goto(f"{demo.address}/screens/day")
    expect(page.get_by_role("heading", name="Needs a decision")).to_be_visible()
