#!/usr/bin/python3
"""A window with WebKit in it and nothing else, for WebKitWebDriver to drive.

Unlike the engine's own small browser, which forgets all when it is driven, it has a
profile that lasts. Arguments: folder of the profile, folder for downloads, address of a
proxy for all but this machine, file with a script that runs before any of a page's own.
"""
import os
import sys

import gi

gi.require_version("Gtk", "3.0")
gi.require_version("WebKit2", "4.1")
from gi.repository import Gtk, WebKit2  # noqa: E402

profile, downloads, proxy, before = sys.argv[1:5]

data = WebKit2.WebsiteDataManager(
    base_data_directory=os.path.join(profile, "data"),
    base_cache_directory=os.path.join(profile, "cache"),
)
data.set_network_proxy_settings(
    WebKit2.NetworkProxyMode.CUSTOM,
    WebKit2.NetworkProxySettings.new(proxy, ["127.0.0.1"]),
)
context = WebKit2.WebContext.new_with_website_data_manager(data)
context.set_automation_allowed(True)
context.set_preferred_languages(["en_US", "en"])
settings = WebKit2.Settings(
    enable_write_console_messages_to_stdout=True,
    hardware_acceleration_policy=WebKit2.HardwareAccelerationPolicy.NEVER,
)
content = WebKit2.UserContentManager()
with open(before, encoding="utf-8") as f:
    content.add_script(
        WebKit2.UserScript.new(
            f.read(),
            WebKit2.UserContentInjectedFrames.TOP_FRAME,
            WebKit2.UserScriptInjectionTime.START,
            None,
            None,
        )
    )


def view(session):
    v = WebKit2.WebView(
        web_context=context,
        settings=settings,
        user_content_manager=content,
        is_controlled_by_automation=True,
    )
    window = Gtk.Window(decorated=False, default_width=390, default_height=844)
    v.connect("close", lambda v: window.destroy())
    window.add(v)
    window.show_all()
    return v


def started(context, session):
    info = WebKit2.ApplicationInfo()
    info.set_name("pitwise-webkit")
    info.set_version(
        WebKit2.get_major_version(),
        WebKit2.get_minor_version(),
        WebKit2.get_micro_version(),
    )
    session.set_application_info(info)
    session.connect("create-web-view", view)


def download(context, d):
    """A file that is whole is told of by a line: its place and the page's name for it."""
    download.count += 1
    path = os.path.join(downloads, "%d-%d" % (os.getpid(), download.count))
    name = []

    def decide(d, suggested):
        name.append(suggested)
        d.set_destination("file://" + path)
        return True

    d.connect("decide-destination", decide)
    d.connect("finished", lambda d: print("DOWNLOADED", path, name[0], flush=True))


download.count = 0
context.connect("automation-started", started)
context.connect("download-started", download)
Gtk.main()
