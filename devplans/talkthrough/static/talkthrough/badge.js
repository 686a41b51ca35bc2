/** "Recording 0:12" on the picture itself: on the whole screen it is all that is seen of it. */
export class Badge {
  constructor(player, word) {
    Object.assign(this, { player, word });
  }

  show(is) {
    this.element?.remove();
    this.element = null;
    if (!is) return;
    this.element = Object.assign(document.createElement("p"), { className: "talk-badge" });
    // The same is told beside the picture, to those who hear the page.
    this.element.setAttribute("aria-hidden", "true");
    this.element.append(Object.assign(document.createElement("b"), { textContent: this.word }), " 0:00");
    this.player.querySelector(".film-stage").append(this.element);
  }

  say(time) {
    if (this.element) this.element.lastChild.textContent = ` ${time}`;
  }
}
