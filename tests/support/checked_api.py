"""A client that holds each answer of `goodside serve` against docs/api/openapi.json, and patience."""

import json
import pathlib
import time

import jsonschema

from served_works import Client

API = json.loads((pathlib.Path(__file__).resolve().parents[2] / "docs" / "api" / "openapi.json").read_text(encoding="utf-8"))
PASSWORD = "a long password"
REACHED = set()  # (method, path, status) that some answer had


def template_of(path):
    given = path.split("?")[0].split("/")
    fitting = [template for template in API["paths"]
               if len(wanted := template.split("/")) == len(given)
               and all(w.startswith("{") or w == g for w, g in zip(wanted, given))]
    return min(fitting, key=lambda template: template.count("{"), default=None)


def check_answer(method, path, status, headers, body):
    """The answer is one that the document promises."""
    template = template_of(path)
    if template is None or method.lower() not in API["paths"][template]:
        return
    promised = API["paths"][template][method.lower()]["responses"]
    if str(status) not in promised:
        raise AssertionError(f"{method} {path}: {status} is not in the document: {body}")
    REACHED.add((method, template, status))
    content = promised[str(status)].get("content", {})
    if not content:
        assert not body, (method, path, status, body)
        return
    kind = headers["Content-Type"].split(";")[0]
    assert kind in content, (path, kind)
    schema = content[kind]
    if kind == "application/json":
        whole = {**schema["schema"], "components": API["components"]}
        jsonschema.Draft202012Validator(whole).validate(body)


class Checked(Client):
    def ask(self, method, path, *rest, **more):
        status, headers, body = super().ask(method, path, *rest, **more)
        check_answer(method, path, status, headers, body)
        return status, headers, body


def as_checked(server, name=None):
    client = Checked(server.port)
    if name:
        client.post("/api/sign-in", {"name": name, "password": PASSWORD})
    return client


def wait_for(what, seconds=60):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = what()
        if found:
            return found
        time.sleep(0.1)
    raise AssertionError("it did not come about in time")


def children_of(parent):
    """Process ids, from each process's status."""
    found = []
    for status in pathlib.Path("/proc").glob("[0-9]*/stat"):
        try:
            if int(status.read_text().rsplit(")", 1)[1].split()[1]) == parent:
                found.append(status.parent.name)
        except OSError:
            pass  # it ended meanwhile
    return found


def finished(client, job):
    return wait_for(lambda: (now := client.get(f"/api/jobs/{job}"))["state"] not in ("queued", "running") and now)
