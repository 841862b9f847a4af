"""The commands: running and tending the service from a shell.

Responsible for arguments, for what is printed, and for errors in words. Refuses to know how anything is
done.
"""

import os
from collections import Counter
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import click
from sqlalchemy.exc import DBAPIError

from service import __version__, config, executors, shell
from service.api.schemas.imports import ImportBody
from service.api.sheets import listing
from service.config import Config, ConfigError
from service.errors import NotFound, ServiceError
from service.executors import NoCluster
from service.limits import ROLES, UNIT_SYSTEMS
from service.operations import tokens
from service.operations.imports import import_catalogue, prepare_import
from service.operations.lists import ListRequest, prep_list
from service.operations.loading import load_catalogue
from service.operations.tidiness import tidy
from service.resources import MissingFolder
from service.shell import OldDatabase
from service.store import copying, migration
from service.store.engine import session_factory

ENVIRONMENT = f"\b\nEnvironment:\n{config.describe()}"


class Commands(click.Group):
    """A group of commands whose errors are sentences, not traces."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; whatever the service refuses ends it with status 1."""
        try:
            return super().invoke(ctx)
        except ServiceError as error:
            raise click.ClickException(shell.explain(error)) from error
        except (ConfigError, OldDatabase, migration.DatabaseAhead, MissingFolder, NoCluster, copying.NotEmpty, copying.Differs) as error:
            raise click.ClickException(str(error)) from error
        except DBAPIError as error:
            raise click.ClickException(f"the database refuses: {error.orig}") from error
        except ModuleNotFoundError as error:
            if error.name != "psycopg":
                raise
            raise click.ClickException("for a PostgreSQL database, install kitchen-prep[postgresql]") from error


@click.group(cls=Commands, epilog=ENVIRONMENT, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 120})
@click.version_option(__version__, prog_name="kitchen-prep")
def commands() -> None:
    """Recipe scaling and prep lists for kitchens at several sites."""


def main() -> None:
    """Run the command that the shell asks for."""
    commands(prog_name="kitchen-prep")


def configured() -> Config:
    """The configuration of this process."""
    return Config.from_env(os.environ)


@commands.command()
def migrate() -> None:
    """Bring the database up to date."""
    migration.upgrade(configured().database_url)
    click.echo(f"The database is at migration {migration.head()}.")


@commands.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen at.")
@click.option("--port", default=8000, show_default=True, type=click.IntRange(1, 65535), help="The port to listen at.")
@click.option("--workers", default=2, show_default=True, type=click.IntRange(1, 64), help="How many processes answer.")
def serve(host: str, port: int, workers: int) -> None:
    """Serve the interface until stopped."""
    from service import server  # noqa: PLC0415 - the server takes long to load, and other commands do without it

    settings = configured()
    with shell.current_engine(settings):
        pass
    server.serve(settings, host, port, workers)


@commands.group()
def token() -> None:
    """Create, list and revoke the tokens that callers authenticate with."""


@token.command("create")
@click.option("--role", required=True, type=click.Choice(ROLES), help="What the token may do.")
@click.option("--name", required=True, help="Who or what will use it.")
@click.option(
    "--site",
    "sites",
    multiple=True,
    metavar="CODE",
    help="A site that it is for; repeat for several. A viewer or an integration without one is for all.",
)
@click.option("--source", metavar="CODE", help="The source that an integration pushes forecasts as.")
@click.option("--days", type=int, help="How many days it is valid; KITCHEN_PREP_TOKEN_DAYS unless given.")
def create_token(role: str, name: str, sites: tuple[str, ...], source: str | None, days: int | None) -> None:
    """Create a token and print it: it cannot be shown again."""
    settings = configured()
    with shell.writing(settings) as session:
        valid = settings.token_days if days is None else days
        secret, _ = tokens.create_token(session, name, role, sites or None, source, valid, settings.now())
        missing = tokens.missing_sites(session, sites)
    for site in missing:
        click.echo(f"Note: there is no site {site} yet.", err=True)
    click.echo(secret)


@token.command("list")
def list_tokens() -> None:
    """List the tokens, without their secrets."""
    settings = configured()
    with shell.reading(settings) as session:
        after: str | None = None
        while rows := tokens.list_tokens(session, after, 500):
            for row in rows:
                click.echo(describe_token(row, settings.now()))
            after = rows[-1]["id"]


def describe_token(row: dict[str, Any], now: datetime) -> str:
    """One line about a token."""
    state = "revoked" if row["revoked_at"] else "expired" if datetime.fromisoformat(row["expires_at"]) <= now else "valid"
    reach = "all sites" if row["sites"] is None else ", ".join(row["sites"])
    source = f"  source {row['source']}" if row["source"] else ""
    return f"{row['id']}  {row['role']:<11}  {state:<7}  until {row['expires_at'][:10]}  {reach}{source}  {row['name']}"


@token.command("revoke")
@click.argument("token_id", metavar="ID")
def revoke_token(token_id: str) -> None:
    """Make a token useless at once; ID is the one that the list shows."""
    settings = configured()
    with shell.writing(settings) as session:
        try:
            tokens.revoke_token(session, token_id, settings.now())
        except NotFound as error:
            raise click.BadParameter(f"there is no token {token_id}", param_hint="ID") from error
    click.echo(f"Token {token_id} is revoked.")


@commands.command("import")
@click.argument("files", nargs=-1, required=True, metavar="FILE…", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--dry-run", is_flag=True, help="Only check; change nothing.")
def import_files(files: tuple[Path, ...], dry_run: bool) -> None:  # noqa: FBT001 - a flag of the command line
    """Import whole catalogues: each file a body as POST /v1/imports takes it, all of it or nothing."""
    settings = configured()
    for file in files:
        click.echo(f"{file}: reading", err=True)
        body = shell.read_document(ImportBody, shell.read_value(file))
        click.echo(f"{file}: {'checking' if dry_run else 'importing'} {sum(len(part) for part in body.values())} elements", err=True)
        with shell.reading(settings) as session:
            prepared = prepare_import(session, body, settings.now(), None)
        counts = prepared.answer
        if not dry_run:
            with shell.writing(settings) as session:
                import_catalogue(session, prepared)
        click.echo(f"{file}: " + ", ".join(f"{count} {what}" for what, count in counts.items()))


@commands.command("copy-to")
@click.argument("url", metavar="URL")
def copy_to(url: str) -> None:
    """Copy the whole database into another, empty one that migrate has prepared: all of it, compared row for row, or nothing.

    URL is written as DATABASE_URL is. Stop the service first: what is written during the copy is not in it.
    """
    settings = configured()
    with shell.current_engine(settings) as source, shell.current_engine(shell.addressed(settings, url), "the target") as target:
        copied = copying.copy(source, target, tell_progress)
    click.echo(f"Copied and compared {sum(copied.values())} rows of {len(copied)} tables.")


def tell_progress(table: str, done: int, total: int) -> None:
    """Say how far the copy of a table is, in steps that a reader can follow."""
    if done == total or done % (10 * copying.CHUNK) == 0:
        click.echo(f"{table}: {done} of {total} rows", err=True)


@commands.command("tidy")
@click.option("--keep", required=True, metavar="DAYS", type=click.IntRange(min=1), help="How many days before today stay, of every site.")
def tidy_up(keep: int) -> None:
    """Remove forecasts, counts, overrides, prints and reports from before so many days; no list of a day that is kept changes.

    It goes on beside the service, a few rows at a time, and may be ended and begun anew at any time.
    """
    settings, total = configured(), Counter[str]()
    with shell.current_engine(settings) as engine:
        readers, writers = session_factory(engine, read_only=True), session_factory(engine).begin
        with readers() as session:
            sites = load_catalogue(session).sites
        for number, (code, site) in enumerate(sites.items(), 1):
            first = site.calendar().business_date(settings.now()) - timedelta(days=keep)
            removed = Counter[str]()
            for portion in tidy(readers, writers, code, first, settings.now()):
                removed[portion.kind] += portion.rows
                click.echo(f"{code} ({number} of {len(sites)}): {removed[portion.kind]} {portion.kind} from before {first}", err=True)
            total += removed
    click.echo("Removed " + (", ".join(f"{rows} {kind}" for kind, rows in total.items()) or "nothing: all of it is needed or young") + ".")


@commands.command("prep-list")
@click.argument("site")
@click.argument("day", metavar="DATE", type=click.DateTime(["%Y-%m-%d"]))
@click.option("--from", "first", metavar="DATE", type=click.DateTime(["%Y-%m-%d"]), help="The date to plan from.")
@click.option("--station", metavar="CODE", help="Only this station's tasks.")
@click.option("--units", type=click.Choice(UNIT_SYSTEMS), help="The measures to show; the site's own unless given.")
def print_prep_list(site: str, day: datetime, first: datetime | None, station: str | None, units: str | None) -> None:
    """Print what the stations of a site must do on a date."""
    settings = configured()
    start: date | None = None if first is None else first.date()
    request = ListRequest(site=site, on=day.date(), first=start, station=station, units=units, pinned=settings.pinned is not None)
    with shell.reading(settings) as session:
        if site not in (known := load_catalogue(session).sites):
            raise click.BadParameter(f"there is no site {site}; there are {', '.join(known) or 'none yet'}", param_hint="SITE")
        document = prep_list(session, request, settings.now())
    click.echo(listing.write(document))


@commands.command()
@click.option("--date", "day", required=True, metavar="DATE", type=click.DateTime(["%Y-%m-%d"]), help="The date of the lists.")
@click.option("--all-sites", is_flag=True, help="Plan every site.")
@click.option("--site", "sites", multiple=True, metavar="CODE", help="Plan this site; repeat for several.")
@click.option("--from", "first", metavar="DATE", type=click.DateTime(["%Y-%m-%d"]), help="The date to plan from.")
@click.option("--lists", "whole", is_flag=True, help="Write the whole lists, not what they amount to.")
@click.option("--processes", type=click.IntRange(1, 256), help="How many processes of this machine plan; as it has cores unless given.")
@click.option("--cluster", metavar="ADDRESS", help="Plan on the workers of the scheduler at this address, such as tcp://HOST:8786.")
def plan(
    day: datetime,
    all_sites: bool,  # noqa: FBT001 - a flag of the command line
    sites: tuple[str, ...],
    first: datetime | None,
    whole: bool,  # noqa: FBT001 - as above
    processes: int | None,
    cluster: str | None,
) -> None:
    """Plan a date for several sites at once: a line of JSON a site as it is planned; how far it is stands on standard error."""
    if all_sites == bool(sites):
        raise click.UsageError("name the sites: --all-sites, or --site once or more")
    if processes and cluster:
        raise click.UsageError("plan on processes of this machine or on a cluster: --processes or --cluster")
    settings = configured()
    with shell.reading(settings) as session:
        known = load_catalogue(session).sites
    if unknown := [site for site in sites if site not in known]:
        raise click.BadParameter(f"there is no site {', '.join(unknown)}; there are {', '.join(known) or 'none yet'}", param_hint="--site")
    chosen = sorted(known) if all_sites else list(dict.fromkeys(sites))
    start = None if first is None else first.date()
    asked = executors.GroupRequest(config=settings, on=day.date(), first=start, whole=whole, now=settings.now())
    crew = executors.cluster(settings, cluster) if cluster else executors.processes(processes)
    done = refused = 0
    for lines in executors.plan_sites(crew, asked, chosen):
        for line in lines:
            click.echo(line.text)
            if line.refused is not None:
                refused += 1
                click.echo(f"{line.site}: {line.refused}", err=True)
        done += len(lines)
        click.echo(f"{done} of {len(chosen)} sites", err=True)
    if refused:
        raise click.ClickException(f"no list for {refused} of {len(chosen)} sites")


@commands.command()
def openapi() -> None:
    """Print the OpenAPI document of the interface."""
    from service.app import published_document  # noqa: PLC0415 - the interface takes long to load, and other commands do without it

    click.echo(published_document(), nl=False)


@commands.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen at.")
@click.option("--port", default=8000, show_default=True, type=click.IntRange(1, 65535), help="The port to listen at.")
@click.option("--once", is_flag=True, help="End after printing.")
def demo(host: str, port: int, once: bool) -> None:  # noqa: FBT001 - a flag of the command line
    """Show three invented kitchens: print tomorrow's list of one, then serve them from a database of their own."""
    from service import demo as scenario  # noqa: PLC0415 - as above
    from service import server  # noqa: PLC0415 - as above

    with scenario.temporary(configured()) as settings:
        shown = scenario.prepare(settings)
        click.echo(listing.write(shown.prep_list))
        click.echo()
        for line in scenario.introduce(shown, f"http://{host}:{port}"):
            click.echo(line)
        if not once:
            server.serve(settings, host, port, workers=1)
