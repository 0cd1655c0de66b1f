"""HTML out of the templates in `templates/`: the one place that makes the environment.

Whatever a template is given is escaped; what it says comes from viz/words by `say`, so that no template
holds a sentence. A field that a template asks for and is not given raises UndefinedError. Imported where
HTML is made and nowhere else: jinja2 costs more to load than a check needs.
"""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from viz.words.locale import Locale


@cache
def environment() -> Environment:
    """The environment of every template: escaping, without a value for what is missing, nothing written for a tag."""
    return Environment(
        loader=PackageLoader("viz", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )


def rendered(template: str, locale: Locale, **values: object) -> Markup:
    """The template of that name, such as `page/hold.html`, with its values; messages in the locale's language.

    What comes back is markup, which another template takes as it is.
    """
    return Markup(environment().get_template(template).render(say=locale.say, **values))
