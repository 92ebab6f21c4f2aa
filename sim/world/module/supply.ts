// From the trigger output to the supply, and its own contact.
import { firing, supply, wires } from './cells.gen';

/** One millisecond of relay, trigger and latch. @param trigger the box's output; @param burning 1 while the arc burns */
export function advanceFiring(trigger: i32, burning: i32): void {
  const wanted = i32(trigger != 0);
  if (wanted == firing.relay) {
    firing.waited_ms = 0;
  } else if (wanted == 1 || firing.welded == 0) {
    if (firing.waited_ms >= (wanted == 1 ? firing.close_ms : firing.release_ms)) {
      firing.relay = wanted;
      firing.waited_ms = 0;
    } else {
      firing.waited_ms++;
    }
  }
  const pulled = firing.relay | firing.hand;
  if (firing.latching != 0 || firing.latched != 0) {
    // A latch takes the first pull to go on, and needs a second pull to go off while the arc burns.
    if (pulled > firing.pulled) firing.call = firing.call != 0 && burning != 0 ? 0 : 1;
    else if (pulled == 0 && burning == 0) firing.call = 0;
  } else {
    firing.call = pulled;
  }
  firing.pulled = pulled;
}

/** The supply's own arc-OK contact, with its delay. */
export function advanceContact(burning: i32): void {
  if (burning == supply.contact) supply.contact_wait_ms = 0;
  else if (supply.contact_wait_ms >= supply.contact_delay_ms) supply.contact = burning;
  else supply.contact_wait_ms++;
  if (supply.contact_missing != 0) supply.contact = 0;
  wires.contact = supply.contact;
}
