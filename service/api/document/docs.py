"""The documentation pages: the interactive one, and one for each problem.

Responsible for serving them with no internet and with their own content security policies. Refuses to
show data of any kitchen.
"""

import base64
import hashlib
import re

from flask import Blueprint, Flask, Response
from flask_swagger_ui import get_swaggerui_blueprint
from markupsafe import Markup

from service.api.document.codes import CODES
from service.api.exchange.problems import INTERNAL, PROBLEMS, UNREAD, Problem
from service.errors import NotFound

INLINE_SCRIPT = re.compile(r"<script>(.*?)</script>", re.DOTALL)
STYLE = (
    "body{font:16px/1.5 sans-serif;max-width:44rem;margin:2rem auto;padding:0 1rem}code{background:#eee;padding:0 .2em}dt{font-weight:bold}"
)
PAGE = Markup(
    '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>{title}</title><style>{style}</style></head>'
    "<body><h1>{title}</h1>{content}</body></html>"
)


def install(app: Flask) -> None:
    """Give an application its documentation pages."""
    pages = get_swaggerui_blueprint(
        "/docs", "/v1/openapi.json", config={"app_name": "Kitchen prep", "validatorUrl": None, "oauth2RedirectUrl": ""}
    )
    pages.after_request(protect_docs)
    app.register_blueprint(pages)
    problems = Blueprint("problems", __name__)
    problems.add_url_rule("/problems", view_func=list_problems)
    problems.add_url_rule("/problems/<code:slug>", view_func=explain_problem)
    app.register_blueprint(problems)


def protect_docs(response: Response) -> Response:
    """Allow the page its own files and its one inline script, by its hash; nothing from elsewhere."""
    hashes = ""
    if response.mimetype == "text/html" and not response.direct_passthrough:
        hashes = "".join(f" '{hash_of(script)}'" for script in INLINE_SCRIPT.findall(response.get_data(as_text=True)))
    response.headers["Content-Security-Policy"] = (
        f"default-src 'none'; script-src 'self'{hashes}; style-src 'self' 'unsafe-inline'; img-src 'self' data:; font-src 'self'; "
        "connect-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
    )
    return response


def hash_of(text: str) -> str:
    """The source expression that allows an inline script or style."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def by_slug() -> dict[str, Problem]:
    """Every problem by its slug, in order of status."""
    rows = sorted([*PROBLEMS.values(), *UNREAD.values(), INTERNAL], key=lambda problem: problem.status)
    problems: dict[str, Problem] = {}
    for problem in rows:
        problems.setdefault(problem.slug, problem)
    return problems


def list_problems() -> Response:
    """A page that lists the problems."""
    rows = [Markup('<li><a href="/problems/{}">{}</a> ({})</li>').format(p.slug, p.title, p.status) for p in by_slug().values()]
    return page("Problems", Markup("<ul>{}</ul>").format(Markup("").join(rows)))


def explain_problem(slug: str) -> Response:
    """A page that explains one problem."""
    problem = by_slug().get(slug)
    if problem is None:
        raise NotFound("problem", slug)
    content = Markup("<p>Status {}</p><p>{}</p>").format(problem.status, problem.explanation)
    if slug in ("invalid", "in-use", "nothing-to-publish"):
        content += Markup("<dl>{}</dl>").format(
            Markup("").join(Markup("<dt><code>{}</code></dt><dd>{}</dd>").format(*row) for row in CODES.items())
        )
    return page(problem.title, content)


def page(title: str, content: Markup) -> Response:
    """An HTML page that can load nothing."""
    response = Response(PAGE.format(title=title, style=STYLE, content=content), content_type="text/html; charset=utf-8")
    response.headers["Content-Security-Policy"] = (
        f"default-src 'none'; style-src '{hash_of(STYLE)}'; frame-ancestors 'none'; base-uri 'none'"
    )
    return response
