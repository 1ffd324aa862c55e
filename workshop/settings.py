"""Benchweek's settings: safe defaults, everything that differs by place read from the environment.

Production is the default. `BENCHWEEK_DEMO=yes` (what `make run` sets) is the only mode with a
ready-made secret key; it serves this machine alone. `serve_lan` makes a secret key of the shop's own.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from workshop import environment as env

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(env.text("BENCHWEEK_VAR", str(BASE_DIR / "var")))
try:
    VAR_DIR.mkdir(parents=True, exist_ok=True)
except OSError as error:
    raise ImproperlyConfigured(
        f"BENCHWEEK_VAR: the folder {VAR_DIR} can't be made: {error.strerror}."
    ) from None

TESTING = "pytest" in sys.modules
DEMO = env.yes("BENCHWEEK_DEMO", TESTING)
DEBUG = env.yes("DEBUG", False)
DEMO_KEY = "only-for-the-demo-on-this-machine-never-for-a-real-workshop"
SECRET_KEY = env.text("SECRET_KEY", DEMO_KEY if DEMO else "")

NEEDS_NO_KEY = {
    *("plan_problem", "cut_problem", "measure", "collectstatic", "makemigrations", "help"),
    *("backup", "restore", "serve_lan", "service_units"),
}
if not DEMO and not NEEDS_NO_KEY.intersection(sys.argv[1:2]):
    if DEBUG:
        raise ImproperlyConfigured(
            "Benchweek will not start with DEBUG on outside the demo: error pages would show customers' "
            "data. Unset DEBUG, or set BENCHWEEK_DEMO=yes on a machine of your own."
        )
    if len(SECRET_KEY) < 32 or SECRET_KEY == DEMO_KEY:
        raise ImproperlyConfigured(
            "Benchweek will not start without a secret key of its own: anybody could sign themselves in. Set "
            "SECRET_KEY to a long random text, for example from: "
            "python3 -c 'import secrets; print(secrets.token_urlsafe(50))'"
        )
SECRET_KEY = SECRET_KEY or DEMO_KEY

ALLOWED_HOSTS = env.words("ALLOWED_HOSTS", "127.0.0.1,localhost,[::1]")
CSRF_TRUSTED_ORIGINS = env.words("CSRF_TRUSTED_ORIGINS", "")
HTTPS = env.yes("HTTPS", False)
LAN_AUTHORITY = env.text("BENCHWEEK_LAN_AUTHORITY")
LAN_ADDRESSES = env.words("BENCHWEEK_LAN_ADDRESSES", "")
LAN_TRUST = env.text("BENCHWEEK_LAN_TRUST")
"""Set by serve_lan: its authority's file, its addresses by https, the page that hands the authority out."""

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "csp",
    "axes",
    "django_tasks",
    "django_tasks_db",
    "builds",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "workshop.middleware.QuietHeaders",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "workshop.middleware.ShopTime",
    "workshop.middleware.Audience",
    "workshop.middleware.PlainErrors",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "workshop.urls"
WSGI_APPLICATION = "workshop.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": False,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "builds.screens.context.shell",
            ],
            "builtins": ["django.templatetags.static", "builds.templatetags.words"],
            "libraries": {"words": "builds.templatetags.words"},
            "loaders": [
                (
                    "django.template.loaders.cached.Loader",
                    ["django.template.loaders.filesystem.Loader"],
                )
            ],
        },
    }
]

DATABASES = {"default": env.database(env.text("DATABASE_URL", "sqlite:///"), VAR_DIR)}
if TESTING and DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, as in the shop: SQLite's shared memory knows no waiting, and browsers come from other threads.
    DATABASES["default"]["TEST"] = {"NAME": str(VAR_DIR / f"test-{os.getpid()}.sqlite3")}
    DATABASES["default"]["OPTIONS"]["init_command"] += ";PRAGMA synchronous=OFF"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "builds.User"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesBackend", "django.contrib.auth.backends.ModelBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "owner:week"
LOGOUT_REDIRECT_URL = "sign-in"
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = 0.25
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "errors/locked_out.html"
AXES_ENABLED = not TESTING

LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", "English")]
TIME_ZONE = "Europe/London"
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATIC_ROOT = VAR_DIR / "static"
MEDIA_ROOT = Path(env.text("BENCHWEEK_MEDIA", str(VAR_DIR / "media")))
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if TESTING
        else "workshop.staticstore.HashedModules"
    },
}
WHITENOISE_USE_FINDERS = TESTING
WHITENOISE_AUTOREFRESH = TESTING

DATA_UPLOAD_MAX_MEMORY_SIZE = 6 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
PHOTO_MAX_BYTES = 25 * 1024 * 1024
PAPER_MAX_BYTES = 15 * 1024 * 1024
PHOTO_MAX_PIXELS = 60_000_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4000

SESSION_COOKIE_AGE = 14 * 24 * 3600
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
CSRF_FAILURE_VIEW = "builds.screens.errors.stale_form"
SECURE_SSL_REDIRECT = False
# Not on the LAN: the plain page that hands out the authority lies on the same name.
SECURE_HSTS_SECONDS = 3600 if HTTPS and not LAN_AUTHORITY else 0
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if env.yes("BEHIND_PROXY") else None
X_FRAME_OPTIONS = "DENY"

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "object-src": [NONE],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

TASKS = {
    "default": {
        "BACKEND": "django_tasks.backends.immediate.ImmediateBackend"
        if TESTING
        else "django_tasks_db.DatabaseBackend",
        "QUEUES": ["default", "long"],
    }
}

CHANCES_RUNS = 10 if TESTING else 200
"""How often the plan is played through for the chances; tests plan in the request that asks for it."""

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env.text("LOG_LEVEL", "WARNING")},
    "loggers": {"fontTools": {"level": "ERROR"}, "axes": {"level": "ERROR"}},
}

TEST_RUNNER = "django.test.runner.DiscoverRunner"
if TESTING:
    PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    MEDIA_ROOT = VAR_DIR / "test-media"
    ALLOWED_HOSTS = [*ALLOWED_HOSTS, "testserver"]
