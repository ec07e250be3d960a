// A part of the page: HTML from the server, taken over in place so that focus, scrolling and open lines stay.
import { adopt } from "loopwright-workroom";

export default {
  template: `<div @click="press"></div>`,
  props: { html: String, name: String },
  mounted() {
    adopt(this.$el, this.html, this.name);
  },
  methods: {
    press(event) {
      const name = event.target.closest?.("[data-emit]")?.dataset.emit;
      if (name) this.$emit(name);
    },
  },
  watch: {
    html(html) {
      adopt(this.$el, html, this.name);
    },
  },
};
