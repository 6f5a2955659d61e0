/** Whether the dialog that lets a phone in is open; it hangs at the frame and is opened from both bars. */
class Pairing {
  open = $state(false);
}

export const pairing = new Pairing();
