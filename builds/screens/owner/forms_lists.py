"""The form of a list from outside: a file or its text, which stays in the form to be put right there."""

from __future__ import annotations

from django import forms

MOST_BYTES = 500_000


class ListForm(forms.Form):
    """`cleaned_data["text"]` is what was sent, whichever way; `name` the file's own."""

    file = forms.FileField(
        label="A file", required=False, widget=forms.FileInput({"accept": ".csv,.txt,text/csv"})
    )
    text = forms.CharField(
        label="Or its lines",
        required=False,
        strip=False,
        widget=forms.Textarea({"rows": 10, "class": "file-text"}),
        help_text="CSV with commas",
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **({"label_suffix": ""} | kwargs))

    def clean(self) -> dict:
        kept = super().clean()
        sent = kept.get("file")
        kept["name"] = sent.name if sent else ""
        if sent is None and not kept.get("text", "").strip():
            raise forms.ValidationError("Choose a file, or paste its text.")
        if (sent.size if sent else len(kept["text"].encode())) > MOST_BYTES:
            raise forms.ValidationError("That is more than 500 kB. Take it in parts.")
        if sent is not None:
            try:
                kept["text"] = sent.read().decode("utf-8-sig")
            except UnicodeDecodeError:
                raise forms.ValidationError("This file is not UTF-8 text. Save it as “CSV UTF-8”.") from None
        return kept

    def with_text(self) -> ListForm:
        """The form again with the text of the file in it: a browser does not keep a chosen file."""
        kept = {name: value for name, value in self.cleaned_data.items() if name not in ("file", "name")}
        return type(self)(initial=kept)
