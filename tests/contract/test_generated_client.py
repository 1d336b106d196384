"""A client that a general tool writes from the contract posts, reads and amends with it."""

import importlib
import json

import httpx
import pytest
from openapi_python_client import generate
from openapi_python_client.config import Config, ConfigFile, MetaType

PACKAGE = "written_client"
# The tool knows no PDF: it is told that these are bytes.
SETTINGS = ConfigFile(
    post_hooks=[], content_type_overrides={"application/pdf": "application/octet-stream"}
)


@pytest.fixture(scope="module")
def written(document, tmp_path_factory):
    """Return what imports a module of the client, and what the tool found wrong."""
    folder = tmp_path_factory.mktemp("client")
    source = folder / "openapi.json"
    source.write_text(json.dumps(document), encoding="utf-8")
    config = Config.from_sources(
        SETTINGS, MetaType.NONE, source, "utf-8", overwrite=False, output_path=folder / PACKAGE
    )
    wrong = generate(config=config)
    with pytest.MonkeyPatch.context() as patched:
        patched.syspath_prepend(str(folder))
        yield lambda name: importlib.import_module(f"{PACKAGE}.{name}"), wrong


def test_a_tool_that_writes_clients_leaves_nothing_of_the_contract_out(written):
    assert written[1] == []


def test_a_written_client_posts_reads_and_amends_a_job_and_reads_its_day(written, world, yard):
    module, _ = written
    models = module("models")
    key = yard.client.environ_base["HTTP_AUTHORIZATION"].removeprefix("Bearer ")
    client = module("client").AuthenticatedClient(
        base_url="http://yard.example",
        token=key,
        raise_on_unexpected_status=True,
        httpx_args={"transport": httpx.WSGITransport(world.app)},
    )
    body = models.NewJob.from_dict(yard.job(lawn_id=yard.another_lawn()))

    posted = module("api.jobs.create_job").sync(client=client, body=body)
    assert isinstance(posted, models.ToldJob)

    read = module("api.jobs.read_job").sync_detailed(posted.id, client=client)
    assert {**read.parsed.to_dict(), "warnings": []} == posted.to_dict()

    amended = module("api.jobs.amend_job").sync(
        posted.id,
        client=client,
        body=models.JobChanges.from_dict({"area_mowed": {"value": 500, "unit": "m2"}}),
        if_match=read.headers["ETag"],
    )
    assert isinstance(amended, models.ToldJob)
    assert amended.area_mowed.value == 500

    refused = module("api.jobs.amend_job").sync(
        posted.id,
        client=client,
        body=models.JobChanges.from_dict({"area_mowed": {"value": 400, "unit": "m2"}}),
        if_match=read.headers["ETag"],
    )
    assert isinstance(refused, models.Problem)
    assert refused.status == 412

    told = module("api.routing.read_routing").sync(
        "2026-05-24", client=client, depot_id=yard.ids["depots"]
    )
    assert str(told.day) == "2026-05-24"
    assert yard.ids["jobs"] in [str(lot.job_id) for lot in told.routing.lots]
