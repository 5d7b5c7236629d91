"""Beginning a garden: place, trees, limbs, neighbours, what wood is at hand."""

from __future__ import annotations

from flask import Blueprint, render_template

screen = Blueprint("begin", __name__)


@screen.get("/begin")
def show() -> str:
    """The form of a new garden."""
    return render_template("begin.html.j2")
