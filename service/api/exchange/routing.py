"""The routing layer: from a declared view to an answered request, refusing in the contract's order.

Responsible for 401, 403, 404, 405, 406, 413, 415, 400 and the shape part of 422, in that order. Refuses to know nouns, and
how a view is carried out; 428, 412, 409 and the rest of 422 are raised below.
"""

import re
from functools import partial
from typing import Any

from flask import Flask, Response, current_app, g, request
from marshmallow import Schema, ValidationError
from sqlalchemy.orm import Session
from werkzeug.exceptions import MethodNotAllowed as UnknownMethod

from service.api.exchange import auth
from service.api.exchange.auth import check_role, check_site
from service.api.exchange.call import Call
from service.api.exchange.idempotency import HEADER, key_faults, read_key
from service.api.exchange.interior import Interior
from service.api.exchange.paths import install, no_date, rule_of
from service.api.exchange.roles import NOBODY
from service.api.exchange.turns import carry_out, recalled
from service.api.exchange.views import Noun, View
from service.api.fields.faults import faults_in
from service.api.fields.objects import reader_of
from service.api.wire.answers import choose_media_type
from service.api.wire.bodies import read_json
from service.api.wire.conditions import read_if_match
from service.api.wire.json import find_control_characters
from service.api.wire.refusals import MethodNotAllowed
from service.errors import Fault, Invalid
from service.limits import CODE_PATTERN
from service.operations.collections import check_exists

CODE = re.compile(CODE_PATTERN)


def register(app: Flask, nouns: list[Noun]) -> None:
    """Make every declared view a route of the application."""
    install(app)
    Interior.of(app).nouns += nouns
    for view in (view for noun in nouns for view in noun.views):
        # An endpoint of the framework is one function: two methods of a path are two endpoints.
        endpoint = f"{view.method} {view.path}"
        Interior.of(app).views[endpoint] = view
        app.add_url_rule(rule_of(view.path), endpoint=endpoint, view_func=partial(answer_view, view), methods=[view.method])
    app.before_request(admit)


def admit() -> None:
    """Authenticate a request to the interface, whatever its path; then refuse a method that the path does not take."""
    interior = Interior.of(current_app)
    g.now = interior.config.now()
    g.session = interior.readers()
    g.identity = NOBODY
    g.links = {}
    view = interior.views.get(request.endpoint or "") or view_of_other_method()
    # Probes and the pages of the document ask for no token, and a browser sends none with its question before a request (OPTIONS).
    if not request.path.startswith("/v1/") or request.method == "OPTIONS" or (view is not None and view.open):
        return
    g.identity = auth.admit(request, interior, g.session, g.now)
    # Only here: who may not call at all is not told which methods there are.
    if isinstance(request.routing_exception, UnknownMethod):
        refuse_method(request.routing_exception)


def view_of_other_method() -> View | None:
    """A view of the requested path that takes another method than the request's; an open path is open to every method's refusal."""
    error, adapter = request.routing_exception, current_app.create_url_adapter(request)
    if not isinstance(error, UnknownMethod) or adapter is None:
        return None
    methods = [method for method in error.valid_methods or () if method not in ("HEAD", "OPTIONS")]
    return next((Interior.of(current_app).views.get(adapter.match(method=method)[0]) for method in methods), None)


def refuse_method(error: UnknownMethod) -> None:
    """Refuse a method; a role or a thing that the path's other methods would refuse goes first."""
    interior = Interior.of(current_app)
    allowed = [method for method in error.valid_methods or () if method not in ("HEAD", "OPTIONS")]
    adapter = current_app.create_url_adapter(request)
    if adapter is not None and allowed:
        matches = [adapter.match(method=method) for method in allowed]
        views = [(interior.views[endpoint], path) for endpoint, path in matches if endpoint in interior.views]
        if views:
            check_role(g.identity, {role for view, _ in views for role in view.roles})
            for view, path in views:
                # PUT creates: that its path names nothing yet is no reason to refuse.
                if view.method != "PUT":
                    check_path(view, make_call(dict(path)))
    raise MethodNotAllowed(error.valid_methods or ())


def answer_view(view: View, **path: Any) -> Response:
    """Answer a request for one view: refuse in order, recall what was answered under its key, else carry it out."""
    check_role(g.identity, view.roles)
    call = make_call(path)
    check_path(view, call)
    # From here on the lines stand in the contract's order of refusal: 406, then 413, 415 and 400, then 422.
    media_type = choose_media_type(request, view.produces)
    value, suspect = read_json(request, view.limit) if view.body else (None, False)
    read_request(view, call, value, suspect=suspect)
    keyed = read_key(request, call.identity.token_id, value, media_type) if view.keyed else None
    # A repetition is answered by the reader, without waiting for a turn to write.
    known = keyed and recalled(view, call, keyed)
    return known or carry_out(view, call, keyed, media_type)


def make_call(path: dict[str, Any]) -> Call:
    """The call of the current request, before its query and body are read; raises NotFound where the path names nothing."""
    # 30 February has the shape of a date, so the path matches; see DateInPath.
    if None in path.values():
        raise no_date(request.path)
    arguments = list(request.args.items(multi=True))
    session: Session = g.session
    return Call(
        session=session,
        identity=g.identity,
        now=g.now,
        config=Interior.of(current_app).config,
        path=path,
        address=request.path,
        arguments=arguments,
        links=g.links,
    )


def check_path(view: View, call: Call) -> None:
    """Raise NotFound unless the path, and ``site`` in the query, name things that exist and are the caller's to see."""
    for site in sites_named(view, call):
        check_site(call.identity, site)
        check_exists(call.session, "sites", site)
    if view.within:
        view.within(call)


def sites_named(view: View, call: Call) -> list[str]:
    """The sites that path and query name; what has not the shape of a code is left to the check of shapes."""
    named = [call.site] if "site" in call.path else []
    if view.query is not None and "site" in reader_of(view.query).fields:
        asked = [text for key, text in call.arguments if key == "site"]
        named += asked if len(asked) == 1 and CODE.fullmatch(asked[0]) else []
    return named


def read_request(view: View, call: Call, value: Any, *, suspect: bool) -> None:
    """Fill in body, query and If-Match; every fault of shape comes in one refusal, control characters of a ``suspect`` body too."""
    faults: list[Fault] = []
    if view.body:
        if suspect:
            faults += find_control_characters({**value, view.tolerant: None} if view.tolerant and isinstance(value, dict) else value)
        # A text with a control character in it is told of once, and not by its field again.
        seen = {fault.pointer for fault in faults}
        stripped, repeated = strip_echo(view, call, value)
        call.body, misshapen = load(view.body, stripped)
        faults += [fault for fault in repeated + misshapen if fault.pointer not in seen]
    call.query, misshapen = read_query(view.query, call.arguments)
    faults += misshapen
    if view.keyed:
        faults += key_faults(request.headers.get(HEADER))
    if view.matches:
        try:
            call.expected = read_if_match(request.headers.get("If-Match"))
        except Invalid as error:
            faults += error.faults
    if faults:
        raise Invalid(faults)


def strip_echo(view: View, call: Call, value: Any) -> tuple[Any, list[Fault]]:
    """The body without what it repeats from the path, and a fault for each repetition that says something else."""
    if not isinstance(value, dict):
        return value, []
    expected = {name: call.path[name] for name in view.echo}
    faults = [
        Fault(f"/{name}", "not_in_list", f"the path says {wanted}: write the same, or leave {name} out")
        for name, wanted in expected.items()
        # Dates and numbers of the path are values by now; the body repeats their texts.
        if name in value and value[name] != str(wanted)
    ]
    return {name: inner for name, inner in value.items() if name not in expected}, faults


def load(schema: type[Schema], value: Any) -> tuple[Any, list[Fault]]:
    """The document that a schema reads from a value, and the faults of its shape."""
    try:
        return reader_of(schema).load(value), []
    except ValidationError as error:
        return None, faults_in(error.messages)


def read_query(schema: type[Schema] | None, arguments: list[tuple[str, str]]) -> tuple[dict[str, Any], list[Fault]]:
    """The query by its schema; faults name the parameter. A key that stands twice is refused unless its field reads lists."""
    fields = {(field.data_key or name): field for name, field in reader_of(schema).fields.items()} if schema else {}
    values: dict[str, Any] = {}
    faults: list[Fault] = []
    for key, text in arguments:
        if getattr(fields.get(key), "repeats", False):
            values.setdefault(key, []).append(text)
        elif key in values:
            faults.append(Fault("", "duplicate", f"{key} stands twice in the query", parameter=key))
        else:
            values[key] = text
    faults += [Fault("", fault.code, fault.detail, parameter=fault.pointer[1:]) for fault in find_control_characters(values)]
    if schema is None:
        faults += [Fault("", "unknown_field", "this route takes no query", parameter=key) for key in values]
        return {}, faults
    query, misshapen = load(schema, values)
    faults += [Fault("", fault.code, fault.detail, parameter=fault.pointer[1:].split("/")[0]) for fault in misshapen]
    return query or {}, faults
