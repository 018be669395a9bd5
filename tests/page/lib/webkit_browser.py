#!/usr/bin/python3
"""A WebKitGTK window that WebKitWebDriver may lead, with a profile on the disk: MiniBrowser keeps none while it is led."""

import sys

import gi

gi.require_version("Gtk", "3.0")
gi.require_version("WebKit2", "4.1")
from gi.repository import Gtk, WebKit2  # noqa: E402

profile, width, height = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
manager = WebKit2.WebsiteDataManager(base_data_directory=profile + "/data", base_cache_directory=profile + "/cache")
context = WebKit2.WebContext.new_with_website_data_manager(manager)
context.set_automation_allowed(True)


def window(*_):
    """Opens a window that holds nothing but the page."""
    view = WebKit2.WebView(web_context=context, is_controlled_by_automation=True)
    frame = Gtk.Window(decorated=False, default_width=width, default_height=height)
    frame.add(view)
    frame.show_all()
    view.connect("close", lambda _: frame.destroy())
    return view


def started(_, session):
    """Tells the driver what it leads."""
    info = WebKit2.ApplicationInfo()
    info.set_name("WebKitGTK")
    info.set_version(WebKit2.get_major_version(), WebKit2.get_minor_version(), WebKit2.get_micro_version())
    session.set_application_info(info)
    session.connect("create-web-view", window)


context.connect("automation-started", started)
Gtk.main()
