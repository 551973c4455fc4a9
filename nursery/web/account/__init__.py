"""The own account: password, second factor, browsers signed in, tokens."""

from nursery.web.account.devices import device_name
from nursery.web.account.pages import bp

bp.add_app_template_filter(device_name)

__all__ = ["bp"]
