"""The guide at the head of the published document and of /docs: what an integrator must know before the first request.

Responsible for tokens, pages, tags, repetition, errors and time in plain words. Refuses to describe single routes.
"""

GUIDE = """\
Scales recipes, plans what the stations of several kitchens must prepare, and tells what to pull and order. The lists stand first
below; `GET /v1` names every route to begin with.

## Tokens and roles

Send `Authorization: Bearer` and a token. Its role decides what it may do, its `sites` where: `GET /v1/whoami` tells both. A
director may do everything. A kitchen reads lists and the catalogue of its sites without prices, prints, counts and reports. An
integration pushes forecasts as its `source`. A viewer reads what a kitchen reads. What is another's is answered by 404, like what
is not there. Each route says below who may call it.

## Pages

A list has at most `limit` rows. `next` is the path of the page behind it, null on the last one; follow it as it stands. The
`Link` header has it too, beside `self`, `describedby` and `service-doc`; lists of dates lead to the dates beside them.

## ETags

Every answer to a GET has a strong `ETag`. Send it as `If-None-Match`, and an answer that still holds is 304, without planning.
Replacing or deleting a thing asks for its ETag in `If-Match` (428 without it; reports of work and counts do without), and is
refused where it has changed meanwhile (412). A tag is that of one media type, encoding and query. Many lists are kept fresh by
`GET /v1/revisions`.

## Repetition

A GET, a PUT, a DELETE and a push of forecasts may be sent again as they are. A POST that makes something takes an
`Idempotency-Key` of your own: sent again with the same body within 24 hours it is answered as the first time, with
`Idempotent-Replayed: true`. After 429 and 503 wait for the seconds of `Retry-After`. `RateLimit` tells what is left of the
requests of a minute.

## Errors

A refusal is a problem document (RFC 9457, `application/problem+json`). `type` is a page that explains it, `errors` lists every
fault: where (`pointer` into the body, or `parameter`), which rule (`code`), and what to write instead (`detail`). Faults of shape
come together, and then those of meaning. `instance` is the request; name it, or its `X-Request-Id`, when you ask for help.

## Time

Dates are business dates of a site, `YYYY-MM-DD`: they begin at the site's `day_starts`. Moments are RFC 3339 with an offset, in
answers that of the site, or `Z` for what belongs to none. Durations are ISO 8601. A `from` that counts versions or dates is
included, and so is a `to`.

## Values

In a body, null is as good as leaving a field out that is not required. Unknown fields are refused in requests; answers may grow,
so skip those that you do not know. Numbers have at most 32 digits. Computed quantities are exact in g, mL or each, and `display`
is what a cook reads. Money is a decimal text with its currency. A route that is to end says so by `Deprecation` and `Sunset` a
year before.
"""
