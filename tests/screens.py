"""A browser without a picture: one person's device before the screens, its cookie kept."""

from flask.testing import FlaskClient

from tests.worlds import World, Yard

OURS = {"Sec-Fetch-Site": "same-origin"}


def invite(yard: Yard, seat: str, **scope: str) -> str:
    """Return the path of a link to join."""
    answer = yard.client.post("/sessions", json={"seat": seat, "name": "Dana", **scope})
    assert answer.status_code == 201, answer.text
    return answer.json["link"].removeprefix("http://127.0.0.1:8080")


def joined(world: World, yard: Yard, seat: str, **scope: str) -> FlaskClient:
    """Return a device that has joined."""
    device = world.app.test_client()
    answer = device.post(invite(yard, seat, **scope), headers=OURS)
    assert answer.status_code == 303, answer.text
    return device
