"""A client of the box, written from hardware-notes/link.gen.md alone: the test of that page.

Reads a task as JSON on its input: host and port of the line over TCP, whether it is the USB port, path of an image, one parameter to set, input blocks for
lockstep. Identifies the box, leads it out of a fault, sets, streams, compares and flashes; prints what it found as JSON. Ends with a
line on stderr and status 1 at the first thing that the page does not promise.
"""

import json
import socket
import struct
import sys
import time
import zlib

ANSWER = 128
DONE, UNKNOWN, BUSY, PLACE = 0, 1, 7, 14
IDENTITY, PING, LINE_SPEED, PARAMETERS_READ, STAGE, CHECK, COMMIT, TELEMETRY, ROW = 1, 2, 3, 4, 5, 6, 7, 8, 9
LOCKSTEP_BEGIN, LOCKSTEP_TICKS, LOCKSTEP_END = 13, 14, 15
DESK_BEGIN, STATE, LOADER_ENTER, UPDATE_BEGIN, UPDATE_WRITE, UPDATE_FINISH, RESTART, SLOT = 18, 19, 20, 21, 22, 23, 24, 25
ASK_AGAIN_S, TRIES, QUIET_S, PAUSE_S, RESTARTS, PORT_S = 0.25, 8, 0.4, 0.1, 4, 5
TICKS_A_REQUEST = 3
CHECKED_TICK = 1500
OUTPUT_BYTES, HEAD_BYTES, HEAD_PAGE, PIECE = 96, 252, 256, 256


def stuffed(frame):
    line, block = bytearray(), bytearray()
    for byte in frame:
        if byte == 0:
            line += bytes([len(block) + 1]) + block
            block = bytearray()
            continue
        block.append(byte)
        if len(block) == 254:
            line += b"\xff" + block
            block = bytearray()
    return bytes(line + bytes([len(block) + 1]) + block + b"\0")


def unstuffed(line):
    frame, at = bytearray(), 0
    while at < len(line):
        code = line[at]
        block = line[at + 1 : at + code]
        if code == 0 or len(block) != code - 1:
            return None
        frame += block
        at += code
        if code != 255 and at < len(line):
            frame.append(0)
    return bytes(frame)


def encoded(service, status, sequence, payload):
    head = struct.pack("<BBH", service, status, sequence) + payload
    return stuffed(head + struct.pack("<I", zlib.crc32(head)))


def decoded(line):
    """Service, status, sequence and payload; None for a line that is no frame."""
    frame = unstuffed(line)
    if frame is None or len(frame) < 8 or struct.unpack("<I", frame[-4:])[0] != zlib.crc32(frame[:-4]):
        return None
    return (*struct.unpack("<BBH", frame[:4]), frame[4:-4])


class Box:
    def __init__(self, host, port, usb):
        self.address, self.usb, self.serial, self.ports = (host, port), usb, "", 0
        self.sequence, self.buffer, self.rows = 100, b"", []
        self.open()

    def open(self):
        """Opens the line; the USB port when it is there, for 5 s at most."""
        end = time.monotonic() + PORT_S
        while True:
            self.line = socket.create_connection(self.address, 5)
            if not self.usb:
                break
            said = self.greeting()
            if said.startswith(b"SNDF-") and self.serial in ("", said.decode("ascii")):
                self.serial = said.decode("ascii")
                break
            self.line.close()
            if time.monotonic() > end:
                raise SystemExit("the port does not come back")
            time.sleep(PAUSE_S)
        self.ports += 1
        self.buffer = b""
        self.line.sendall(b"\0")

    def greeting(self):
        """The serial number, or nothing where there is no port."""
        said = b""
        self.line.settimeout(PORT_S)
        while not said.endswith(b"\0"):
            piece = self.line.recv(64)
            if piece == b"":
                return b""
            said += piece
        return said[:-1]

    def open_again(self):
        """The USB port goes with a restart."""
        if self.usb:
            self.line.close()
            self.open()

    def frames(self, until):
        """The frames that come until a moment; rows of telemetry are put aside."""
        while True:
            while b"\0" in self.buffer:
                line, self.buffer = self.buffer.split(b"\0", 1)
                frame = decoded(line)
                if frame and frame[0] == ROW | ANSWER:
                    self.rows.append(frame)
                elif frame:
                    yield frame
            left = until - time.monotonic()
            if left <= 0:
                return
            self.line.settimeout(left)
            try:
                piece = self.line.recv(4096)
            except socket.timeout:
                return
            if piece == b"":
                raise SystemExit("the line was closed: " + self.buffer.decode("latin1"))
            self.buffer += piece

    def try_ask(self, service, payload=b"", tries=TRIES):
        """Status and payload of the answer; None when none comes."""
        self.sequence = (self.sequence + 1) & 0xFFFF
        request = encoded(service, 0, self.sequence, payload)
        for _ in range(tries):
            self.line.sendall(request)
            for got, status, sequence, answer in self.frames(time.monotonic() + ASK_AGAIN_S):
                if got == service | ANSWER and sequence == self.sequence:
                    return status, answer
        return None

    def ask(self, service, payload=b"", wanted=(DONE,)):
        answer = self.try_ask(service, payload)
        if answer is None:
            raise SystemExit(f"no answer to service {service}")
        if answer[0] not in wanted:
            raise SystemExit(f"service {service} is refused with status {answer[0]}")
        return answer

    def ask_while_busy(self, service, payload=b""):
        end = time.monotonic() + 30
        while time.monotonic() < end:
            status, answer = self.ask(service, payload, (DONE, BUSY))
            if status == DONE:
                return answer
            time.sleep(0.01)
        raise SystemExit(f"service {service} was busy for 30 s")

    def identity(self):
        names = "protocol board in_loader boot slot fault_before generation parameter_generation parameter_count capacity tick worst rate"
        _, answer = self.ask(IDENTITY)
        found = dict(zip(names.split(), struct.unpack("<HHBBBBIIHHIII", answer[:32])))
        found["version"] = answer[32:48].rstrip(b"\0").decode("ascii")
        found["module_sha256"], found["image_sha256"] = answer[48:80].hex(), answer[80:112].hex()
        found["chip_id"] = struct.unpack("<I", answer[112:116])[0]
        return found

    def state(self):
        """Where the box stands once its checks have run."""
        names = "tick digital_inputs digital_outputs flags measured_V mode fault refusal desk"
        while True:
            _, answer = self.ask(STATE)
            found = dict(zip(names.split(), struct.unpack("<IIIIfBBBB", answer)))
            if found["tick"] > CHECKED_TICK:
                return found
            time.sleep(PAUSE_S)

    def restart(self):
        for _ in range(RESTARTS):
            self.ask(RESTART)
            time.sleep(QUIET_S)
            self.open_again()
            found = self.identity()
            if found["in_loader"] == 0:
                return found
        raise SystemExit("the loader answers after each restart")

    def box(self):
        """Who answers, out of the loader if it has an image."""
        found = self.identity()
        return self.restart() if found["in_loader"] == 1 and found["slot"] != 255 else found

    def desk(self):
        if self.state()["desk"] == 0:
            self.ask(DESK_BEGIN)
        return self.state()


def set_parameter(box, number, value):
    box.ask(STAGE)
    box.ask(STAGE, struct.pack("<HHf", number, 0, value))
    box.ask(CHECK)
    _, answer = box.ask(COMMIT)
    _, _, generation, _, _ = struct.unpack("<HHIHH", answer)
    _, values = box.ask(PARAMETERS_READ, struct.pack("<II", number, 1))
    return {"generation": generation, "read": struct.unpack("<HHf", values[:8])[2]}


def stream(box, every_ms, seconds):
    box.rows = []
    box.ask(TELEMETRY, struct.pack("<H", every_ms))
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        box.ask(PING)
        for _ in box.frames(time.monotonic() + 0.1):
            pass
    box.ask(TELEMETRY, struct.pack("<H", 0))
    ticks = [struct.unpack("<I", payload[:4])[0] for _, _, _, payload in box.rows]
    numbers = [sequence for _, _, sequence, _ in box.rows]
    steps = [(after - before) & 0xFFFF for before, after in zip(numbers, numbers[1:])]
    return {"rows": len(ticks), "lost": sum(step - 1 for step in steps), "apart": sorted(set(b - a for a, b in zip(ticks, ticks[1:])))}


def lockstep(box, blocks):
    box.ask(LOCKSTEP_BEGIN)
    outputs = b""
    for first in range(0, len(blocks), TICKS_A_REQUEST):
        some = blocks[first : first + TICKS_A_REQUEST]
        _, answer = box.ask(LOCKSTEP_TICKS, struct.pack("<I", first) + b"".join(some))
        if len(answer) != OUTPUT_BYTES * len(some):
            raise SystemExit("the outputs are not as many as the inputs")
        outputs += answer
    box.ask(LOCKSTEP_END)
    return outputs.hex()


def flash(box, image):
    head, body = image[:HEAD_BYTES], image[HEAD_PAGE:]
    box.ask(LOADER_ENTER)
    end = time.monotonic() + 10
    time.sleep(PAUSE_S)
    box.open_again()
    while True:
        time.sleep(PAUSE_S)
        answer = box.try_ask(IDENTITY, tries=1)
        if answer is not None and answer[0] == DONE and answer[1][4] == 1:
            break
        if time.monotonic() > end:
            raise SystemExit("the loader does not come")
    _, _, _, received, _, _ = struct.unpack("<BBHIII", box.ask_while_busy(UPDATE_BEGIN, head))
    while received < len(body):
        piece = struct.pack("<I", received) + body[received : received + PIECE]
        _, answer = box.ask(UPDATE_WRITE, piece, (DONE, PLACE))
        received = struct.unpack("<BBHIII", answer)[3]
    slot, _, _, _, written, generation = struct.unpack("<BBHIII", box.ask_while_busy(UPDATE_FINISH))
    computed = box.ask_while_busy(SLOT, struct.pack("<I", slot))[88:120].hex()
    return {"slot": slot, "written": written, "generation": generation, "computed": computed, "after": box.restart()}


def main():
    task = json.load(sys.stdin)
    golden = [encoded(*frame[1:4], bytes.fromhex(frame[4])).hex() for frame in task["golden"]]
    back = [decoded(bytes.fromhex(frame[5])[:-1]) for frame in task["golden"]]
    box = Box(task["host"], task["port"], task["usb"])
    found = {"golden": golden, "decoded": [[*frame[:3], frame[3].hex()] for frame in back], "identity": box.box()}
    found["state"] = box.state()
    refused, _ = box.try_ask(STAGE, struct.pack("<HHf", task["id"], 0, task["value"]))
    found["refused"] = refused
    found["desk"] = box.desk()
    found["set"] = set_parameter(box, task["id"], task["value"])
    found["telemetry"] = stream(box, 10, 1.0)
    found["outputs"] = lockstep(box, [bytes.fromhex(block) for block in task["blocks"]])
    found["restarted"] = box.restart()
    found["desk_again"] = box.desk()
    with open(task["image"], "rb") as file:
        found["flash"] = flash(box, file.read())
    found["serial"], found["ports"] = box.serial, box.ports
    json.dump(found, sys.stdout)


main()
