"""What only the floor's templates need."""

from __future__ import annotations

import uuid

from django import template

register = template.Library()


@register.simple_tag
def once() -> str:
    """A number for one form as it is shown: however often it is sent, it is done once."""
    return str(uuid.uuid4())
