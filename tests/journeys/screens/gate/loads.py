"""The load that comes to a gate."""


def load_of(yard):
    (load,) = yard.client.get("/loads?destination_kind=compost_site").json["items"]
    return load
