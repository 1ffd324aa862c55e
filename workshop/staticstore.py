"""Static files with hashed names, imports between ES modules included."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedModules(CompressedManifestStaticFilesStorage):
    """Every import in a module must end with a semicolon, or its path stays unhashed."""

    support_js_module_import_aggregation = True
