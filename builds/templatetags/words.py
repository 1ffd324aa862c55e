"""Words and figures for templates."""

from django import template

register = template.Library()
