"""A load that was laid on a bed, its note, and the page on which a client answers."""

import re
from html import unescape
from html.parser import HTMLParser

from tests.crews import Crew, drops

BROWSER = {"Accept": "text/html,*/*;q=0.1"}


class Shown(HTMLParser):
    """A page as a browser shows it: its fields by name, its text, and what has the focus."""

    def __init__(self, page):
        super().__init__()
        self.page, self.fields, self.by_id, self.focused = page, {}, {}, []
        self.languages = re.findall(r'lang="([^"]+)"', page)
        self.feed(page)
        plain = unescape(re.sub(r"<style>.*?</style>|<[^>]+>", "", page, flags=re.DOTALL))
        self.text = plain.replace("\xa0", " ")

    def handle_starttag(self, tag, attrs):
        said = dict(attrs)
        self.by_id[said.get("id")] = said
        if "autofocus" in said:
            self.focused.append(said["name"])
        if tag == "option" and "selected" in said:
            self.fields[self.select] = said["value"]
        if tag == "select":
            self.select = said["name"]
        if tag == "input" and (said.get("type") != "radio" or "checked" in said):
            self.fields[said["name"]] = said.get("value")

    def faulty(self):
        """Return the fields that are described by a fault that stands on the page."""
        described = [one for one in self.by_id.values() if "aria-describedby" in one]
        told = {one["id"]: one["aria-describedby"].split() for one in described if "id" in one}
        assert all(name in self.by_id for names in told.values() for name in names)
        return {field for field, names in told.items() if f"{field}-fault" in names}


class Delivered(Crew):
    """A crew that delivered a clean load to a bed and left its note."""

    def __init__(self):
        super().__init__(bay=True)
        self.job = self.mow(self.lawn("Clean"), at="10:00")
        (drop,) = drops(self.read())
        self.load = f"/loads/{drop['load_id']}"
        note = self.post(f"{self.load}/delivery-notes", {})
        self.note_id = note["id"]
        self.address = note["links"]["page"].removeprefix("http://127.0.0.1:8080")
        self.world.clock.move(minutes=20)
        self.patch(self.load, {"state": "delivered"})
        self.world.clock.move(minutes=20)

    def answers(self, status=200, **said):
        said = {"signed_by": "R. Alvarez", **said}
        answer = self.world.app.test_client().post(f"{self.address}/acknowledgement", json=said)
        assert answer.status_code == status, answer.text
        return answer.json

    def facts(self):
        return self.client.get(f"/delivery-notes/{self.note_id}").json["note"]["facts"]

    def sends(self, status=303, asked="", **form):
        """Send the form of the page as a browser does; return what is shown then."""
        anybody = self.world.app.test_client()
        where = f"{self.address}/acknowledgement{asked}"
        answer = anybody.post(where, data={"signed_by": "R. Alvarez", **form}, headers=BROWSER)
        assert answer.status_code == status, answer.text
        if status != 303:
            return Shown(answer.text)
        return Shown(anybody.get(answer.headers["Location"], headers=BROWSER).text)

    def state(self):
        load = self.client.get(self.load).json
        return load["state"], load["refused_share"]

    def room_kg(self):
        """Return what the bed still takes of a lot that was just cut."""
        job = self.mow(self.lawn("Next"), at="10:30")
        said = self.client.get(f"/jobs/{job}/verdicts").json["verdicts"]
        (bed,) = [one for one in said if one["destination_kind"] == "bed"]
        return bed["accepted_kg"]
