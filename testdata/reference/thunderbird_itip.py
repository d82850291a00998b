"""Has Thunderbird read mails with invitations, or import calendar files, and
prints one line of JSON after each: what it offered and what its calendar holds.

usage: thunderbird_itip.py THUNDERBIRD FOLDER play ADDRESS FILE.eml...
       thunderbird_itip.py THUNDERBIRD FOLDER import FILE.ics...

A new profile is made in FOLDER, which must be empty. ADDRESS is the reader's own
address, to which the invitations go. A mail is put into the inbox and opened in a
message window, and of the buttons that the window's invitation bar shows, the one
that does what the mail asks is pressed: all between the mail's bytes and the
calendar is Thunderbird's own. No network but loopback is used. An answer that
Thunderbird wants to send is printed and not sent; a question that it asks before
it acts is printed and answered with yes.
"""
import ctypes
import fcntl
import json
import os
import pathlib
import signal
import socket
import struct
import subprocess
import sys
import time

# Seconds for the whole run, for Thunderbird's start, and for one mail or file.
WHOLE, START, STEP = 150, 60, 30

PREFS = {
    # Port 0: a free one, which Thunderbird writes into its profile.
    "marionette.port": 0,
    # Offline, behind a proxy that is not there.
    "network.proxy.type": 1,
    "network.proxy.socks": "127.0.0.1",
    "network.proxy.socks_port": 9,
    "network.proxy.socks_remote_dns": True,
    "network.proxy.no_proxies_on": "",
    "network.manage-offline-status": False,
    "offline.autoDetect": False,
    "offline.startup_state": 3,
    "services.settings.server": "http://127.0.0.1:9/",
    # Nothing that looks for updates, reports home, or greets a new user.
    "app.update.auto": False,
    "app.update.enabled": False,
    "browser.safebrowsing.malware.enabled": False,
    "browser.safebrowsing.phishing.enabled": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "datareporting.policy.dataSubmissionPolicyBypassNotification": True,
    "extensions.getAddons.cache.enabled": False,
    "extensions.update.enabled": False,
    "mail.inappnotifications.enabled": False,
    "mail.provider.suppress_dialog_on_startup": True,
    "mail.rights.version": 1,
    "mail.shell.checkDefaultClient": False,
    "mail.spotlight.firstRunDone": True,
    "mailnews.database.global.indexer.enabled": False,
    "mailnews.start_page.enabled": False,
    "mailnews.start_page_override.mstone": "ignore",
    "toolkit.telemetry.enabled": False,
    "toolkit.telemetry.server": "",
    "calendar.alarms.playsound": False,
    "calendar.alarms.show": False,
    "calendar.timezone.local": "UTC",
    "calendar.timezone.useSystemTimezone": False,
}

COMMON = r"""
const { cal } = ChromeUtils.importESModule("resource:///modules/calendar/calUtils.sys.mjs");
const { MailServices } = ChromeUtils.importESModule("resource:///modules/MailServices.sys.mjs");
const { setTimeout } = ChromeUtils.importESModule("resource://gre/modules/Timer.sys.mjs");

async function until(what, look) {
  for (let i = 0; i < 600; i++) {
    const found = look();
    if (found) {
      return found;
    }
    await new Promise(resolve => setTimeout(resolve, 25));
  }
  throw new Error("waited in vain until " + what);
}

function file(path) {
  const f = Cc["@mozilla.org/file/local;1"].createInstance(Ci.nsIFile);
  f.initWithPath(path);
  return f;
}

const calendar = () => cal.manager.getCalendars().find(c => c.type == "storage");

function moment(when) {
  const iso = new Date(when.nativeTime / 1000).toISOString();
  if (when.isDate) {
    return iso.slice(0, 10);
  }
  const floating = when.timezone.isFloating ? "floating " : "";
  return floating + iso.slice(0, 19) + (floating ? "" : "Z");
}

async function items() {
  const all = await calendar().getItemsAsArray(Ci.calICalendar.ITEM_FILTER_ALL_ITEMS, 0, null, null);
  return all.map(item => ({
    uid: item.id,
    start: moment(item.startDate),
    end: moment(item.endDate),
    title: item.title || "",
    location: item.getProperty("LOCATION") || "",
    status: item.status || "",
    sequence: parseInt(item.getProperty("SEQUENCE") || "0", 10),
    alarms: item.getAlarms().map(alarm => alarm.offset.inSeconds),
    answer: cal.itip.getInvitedAttendee(item)?.participationStatus || "",
  }));
}
"""

# A new profile's calendar is there but switched off; it is switched on as by a
# click on its box, and belongs to the one account.
SETUP = COMMON + r"""
const [address] = args;
MailServices.accounts.createLocalMailAccount();
const server = MailServices.accounts.createIncomingServer("reader", "mail.invalid", "pop3");
server.loginAtStartUp = false;
const identity = MailServices.accounts.createIdentity();
identity.email = address;
identity.fullName = "Reader";
const account = MailServices.accounts.createAccount();
account.incomingServer = server;
account.addIdentity(identity);
MailServices.accounts.defaultAccount = account;
await until("there is a calendar", calendar);
calendar().setProperty("disabled", false);
calendar().setProperty("imip.identity.key", identity.key);
"""

PLAY = COMMON + r"""
const { MailUtils } = ChromeUtils.importESModule("resource:///modules/MailUtils.sys.mjs");
const [path] = args;
const BUTTONS = ["imipAcceptButton", "imipUpdateButton", "imipAddButton", "imipDeleteButton"];

function deliver() {
  const inbox = MailServices.accounts.defaultAccount.incomingServer.rootFolder.getFolderWithFlags(Ci.nsMsgFolderFlags.Inbox);
  return new Promise((resolve, reject) => {
    let key;
    MailServices.copy.copyFileMessage(file(path), inbox, null, false, 0, "", {
      QueryInterface: ChromeUtils.generateQI(["nsIMsgCopyServiceListener"]),
      onStartCopy() {},
      onProgress() {},
      setMessageKey(k) { key = k; },
      getMessageId() { return null; },
      onStopCopy(rc) {
        Components.isSuccessCode(rc) ? resolve(inbox.GetMessageHeader(key)) : reject(new Error("copying the mail: " + rc));
      },
    }, null);
  });
}

const state = { method: "", proposed: "", label: "", text: "", pressed: "", asked: [], answers: [], done: "" };

// What Thunderbird would ask the reader or send away is kept in state instead.
const modules = Cu.getGlobalForObject(cal);
const before = { prompt: modules.Services.prompt, transport: cal.itip.getImipTransport, complete: cal.itip.getCompleteText };
modules.Services.prompt = {
  confirm(_window, _title, text) { state.asked.push(text); return true; },
  alert(_window, _title, text) { state.asked.push(text); },
};
cal.itip.getImipTransport = () => ({
  sendItems(recipients, itip, sender) {
    const status = sender?.participationStatus || "";
    state.answers.push(...recipients.map(to => ({ to: to.id, method: itip.responseMethod, status })));
    return true;
  },
});
cal.itip.getCompleteText = (rc, operation) => {
  const names = { [Ci.calIOperationListener.ADD]: "added", [Ci.calIOperationListener.MODIFY]: "changed", [Ci.calIOperationListener.DELETE]: "deleted" };
  state.done = Components.isSuccessCode(rc) ? names[operation] : "failed " + rc.toString(16);
  return before.complete.call(cal.itip, rc, operation);
};
// A dialog would wait for the reader for ever.
const dialogs = {
  observe(dialog, topic) {
    if (topic == "domwindowopened") {
      dialog.addEventListener("load", () => {
        if (dialog.location.href != "chrome://messenger/content/messageWindow.xhtml") {
          state.asked.push("dialog " + dialog.location.href);
          dialog.close();
        }
      }, { once: true });
    }
  },
};
Services.ww.registerNotification(dialogs);
let shown;
try {
  shown = MailUtils.openMessageInNewWindow(await deliver());
  const pane = await until("the mail is shown", () => {
    const inner = shown.document?.getElementById("messageBrowser")?.contentWindow;
    return inner?.msgLoaded && inner;
  });
  const bar = pane.calImipBar;
  const label = pane.document.querySelector(".calendar-notification-bar .msgNotificationBarText");
  if (bar.loadingItipItem) {
    await until("the invitation bar is ready", () => bar.itipItem == bar.loadingItipItem)
      .catch(error => { throw new Error(error.message + "; it says: " + label.textContent); });
    state.method = bar.itipItem.receivedMethod;
    state.proposed = bar.actionFunc?.method || "";
    state.label = label.textContent;
  }
  // The headers stand in the text too until its stylesheet has hidden them.
  const page = pane.document.getElementById("messagepane").contentDocument;
  await until("the text is laid out", () => page.readyState == "complete");
  state.text = page.body.innerText.trim();
  const button = BUTTONS.map(id => pane.document.getElementById(id)).find(b => bar.loadingItipItem && !b.hidden);
  if (button) {
    state.pressed = button.getAttribute("label");
    button.doCommand();
    await until("the calendar has changed", () => state.done || state.asked.some(text => text.startsWith("dialog ")));
  }
} finally {
  shown?.close();
  Services.ww.unregisterNotification(dialogs);
  modules.Services.prompt = before.prompt;
  cal.itip.getImipTransport = before.transport;
  cal.itip.getCompleteText = before.complete;
}
state.items = await items();
return state;
"""

# The importer is the one behind the page "Import from calendar file".
IMPORT = COMMON + r"""
const { CalendarFileImporter } = ChromeUtils.importESModule("resource:///modules/CalendarFileImporter.sys.mjs");
const [path] = args;
const importer = new CalendarFileImporter();
let error = "";
try {
  await importer.startImport(await importer.parseIcsFile(file(path)), calendar());
} catch (e) {
  const code = e.result ?? e;
  error = code == Ci.calIErrors.DUPLICATE_ID ? "duplicate id" : String(e.message || e);
}
return { error, items: await items() };
"""


def alone():
    """Leaves this process no network but loopback, where it may do that."""
    if ctypes.CDLL(None).unshare(0x40000000) == 0:  # CLONE_NEWNET
        with socket.socket() as s:
            fcntl.ioctl(s, 0x8914, struct.pack("16sh22x", b"lo", 0x41))  # SIOCSIFFLAGS: up, running


class Thunderbird:
    """One running Thunderbird, told what to do through its Marionette port."""

    def __init__(self, program, folder):
        self.folder, self.calls = folder, 0
        profile = folder / "profile"
        for made in (profile, folder / "home", folder / "tmp"):
            made.mkdir()
        lines = ["user_pref(%s, %s);\n" % (json.dumps(k), json.dumps(v)) for k, v in PREFS.items()]
        (profile / "user.js").write_text("".join(lines))
        with open(folder / "log", "wb") as log:
            self.process = subprocess.Popen(
                [program, "--headless", "--no-remote", "--marionette", "--remote-allow-system-access", "--profile", str(profile)],
                env={"PATH": os.environ["PATH"], "HOME": str(folder / "home"), "TMPDIR": str(folder / "tmp"),
                     "TZ": "UTC", "LANG": "C.UTF-8", "MOZ_CRASHREPORTER_DISABLE": "1"},
                stdin=subprocess.DEVNULL, stdout=log, stderr=log, start_new_session=True)

    def connect(self):
        self.socket = socket.create_connection(("127.0.0.1", self.port()), timeout=STEP + 5)
        self.stream = self.socket.makefile("rb")
        self.receive()
        self.call("WebDriver:NewSession", capabilities={"alwaysMatch": {"timeouts": {"script": STEP * 1000}}})
        self.call("Marionette:SetContext", value="chrome")

    def port(self):
        written = self.folder / "profile" / "MarionetteActivePort"
        for _ in range(START * 20):
            if written.exists() and written.read_text():
                return int(written.read_text())
            if self.process.poll() is not None:
                raise RuntimeError("Thunderbird ended by itself, code %s" % self.process.returncode)
            time.sleep(0.05)
        raise RuntimeError("Thunderbird did not open its port in %s s" % START)

    def receive(self):
        size = b""
        while not size.endswith(b":"):
            byte = self.stream.read(1)
            if not byte:
                raise RuntimeError("Thunderbird hung up")
            size += byte
        return json.loads(self.stream.read(int(size[:-1])))

    def call(self, name, **parameters):
        self.calls += 1
        message = json.dumps([0, self.calls, name, parameters]).encode()
        self.socket.sendall(b"%d:%s" % (len(message), message))
        _, _, error, result = self.receive()
        if error:
            raise RuntimeError("%s: %s: %s\n%s" % (name, error["error"], error["message"], error["stacktrace"]))
        return result

    def run(self, script, *arguments):
        script = "const args = [...arguments]; return (async () => {%s})();" % script
        return self.call("WebDriver:ExecuteScript", script=script, args=arguments, sandbox="system")["value"]

    def tail(self):
        lines = (self.folder / "log").read_text(errors="replace").splitlines()
        return "\n".join([l for l in lines if l and "gtk" not in l.lower()][-40:])

    def end(self):
        """Kills Thunderbird and all that it started, and waits until they are gone."""
        for _ in range(100):
            try:
                os.killpg(self.process.pid, signal.SIGKILL)
            except ProcessLookupError:
                break
            self.process.poll()
            time.sleep(0.02)
        self.process.wait(5)


def main(program, folder, command, *rest):
    signal.signal(signal.SIGALRM, lambda *_: sys.exit("no end after %s s" % WHOLE))
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("told to end"))
    signal.alarm(WHOLE)
    address, files = ("reader@mail.invalid", rest) if command == "import" else (rest[0], rest[1:])
    alone()
    thunderbird = Thunderbird(program, pathlib.Path(folder).resolve())
    try:
        thunderbird.connect()
        thunderbird.run(SETUP, address)
        for path in files:
            print(json.dumps(thunderbird.run(IMPORT if command == "import" else PLAY, os.path.abspath(path))), flush=True)
    except BaseException:
        print("Thunderbird's own words:\n" + thunderbird.tail(), file=sys.stderr)
        raise
    finally:
        thunderbird.end()


if __name__ == "__main__":
    main(*sys.argv[1:])
