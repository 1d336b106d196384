"""Forms and sheets of setting up, as a browser reads and sends them."""

import csv
import io
import re
from html import unescape

from werkzeug.datastructures import MultiDict

from tests.screens import OURS

LAWNS = (
    "client;phone;address;locality;latitude;longitude;area;area_unit;grass_kind\n"
    "Ann Lee;+44 1632 960301;1 Elm Street;Oxford;51,754;-1,25;240;;cool season\n"
    "Ann Lee;;2 Elm Street;Oxford;51.755;-1.251;12,5;1000 ft²;\n"
)


def send(office, book, **form):
    return office.post(f"/screens/setup/{book}", data=form, headers=OURS)


def read(office, book):
    return list(
        csv.DictReader(io.StringIO(office.get(f"/screens/setup/{book}.csv").text.lstrip("\ufeff")))
    )


class Editing:
    """A record's form in the browser: read as it stands, sent back with something changed."""

    def __init__(self, yard, office, book, path):
        self.client, self.office = yard[1].client, office
        self.path = f"/{path}/{yard[1].ids[path]}"
        self.address = f"/screens/setup/{book}/records/{yard[1].ids[path]}"

    @property
    def kept(self):
        return self.client.get(self.path).json

    def fields(self, page=None):
        """Return what the form would send as it stands, as a browser reads it."""
        text = (page or self.office.get(self.address)).text
        form = re.search(r'<form class="fields record" method="post".*?</form>', text, re.DOTALL)[0]
        found = [
            (re.search(r'name="([^"]+)"', tag)[1], unescape(re.search(r'value="([^"]*)"', tag)[1]))
            for tag in re.findall(r"<input[^>]*>", form)
            if "checkbox" not in tag or " checked" in tag
        ]
        for name, options in re.findall(r'<select name="(\w+)".*?>(.*?)</select>', form):
            chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', options)
            found.append((name, "" if chosen is None else chosen[1] or chosen[2]))
        for name, said in re.findall(
            r'<textarea name="(\w+)".*?>(.*?)</textarea>', form, re.DOTALL
        ):
            found.append((name, unescape(said)))
        return MultiDict(found)

    def send(self, fields, **changes):
        for name, said in changes.items():
            fields.setlist(name, [said])
        return self.office.post(self.address, data=fields, headers=OURS)
