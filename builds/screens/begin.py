"""The first owner begins: behind an address that is printed where Benchweek was started."""

from __future__ import annotations

from django import forms
from django.contrib.auth import login
from django.contrib.auth.password_validation import validate_password
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from builds.actions.beginning import FirstDay, begin_shop, may_begin
from builds.library.reading import rows
from builds.screens.owner.forms_shop import country_choices, zone_choices
from builds.screens.owner.keeping import KeptForm, kept

BACKEND = "django.contrib.auth.backends.ModelBackend"


class BeginForm(KeptForm):
    name = forms.CharField(label="Name of the workshop", max_length=80)
    country = forms.ChoiceField(label="Country of the public holidays", initial="GB")
    zone = forms.ChoiceField(label="Time zone", initial="Europe/London")
    currency = forms.CharField(
        label="Currency", initial="GBP", max_length=3, help_text="three letters, such as GBP or EUR"
    )
    owner_name = forms.CharField(label="Your name", max_length=80)
    username = forms.CharField(
        label="Name to sign in with", max_length=40, validators=[UnicodeUsernameValidator()]
    )
    password = forms.CharField(
        label="Password",
        strip=False,
        max_length=200,
        help_text="ten characters or more",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}, render_value=True),
    )
    owner_trades = forms.MultipleChoiceField(
        label="What you lead yourself",
        required=False,
        widget=forms.CheckboxSelectMultiple(attrs={"class": "choices"}),
        help_text="Gas and mains only with the papers your country asks for.",
    )

    groups = (
        ("The workshop", ("name", "country", "zone", "currency")),
        ("You", ("owner_name", "username", "password", "owner_trades")),
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["country"].choices = country_choices()
        self.fields["zone"].choices = zone_choices()
        self.fields["owner_trades"].choices = [
            (r.text("key"), r.text("name")) for r in rows("trades") if r.text("key") != "owner"
        ]

    def clean_password(self) -> str:
        password = self.cleaned_data["password"]
        validate_password(password)
        return password

    def first_day(self) -> FirstDay:
        given = self.cleaned_data
        return FirstDay(
            owner_name=given["owner_name"],
            username=given["username"],
            password=given["password"],
            shop={name: given[name] for name in ("name", "country", "zone", "currency")},
            owner_trades=given["owner_trades"],
        )


@require_http_methods(["GET", "HEAD", "POST"])
def page(request: HttpRequest, token: str) -> HttpResponse:
    """The form, and after it the signed-in owner's first steps; not there once somebody can sign in."""
    if not may_begin(token):
        raise Http404("Somebody has begun already, or this is not the address that was printed.")
    form = BeginForm(request.POST or None)
    made = []
    if request.method == "POST" and kept(
        form, lambda: made.append(begin_shop(first=form.first_day(), now=timezone.now()))
    ):
        login(request, made[0], backend=BACKEND)
        return redirect("owner:week")
    return render(request, "begin.html", {"form": form}, status=form.status)
