// A part of the page: HTML from the server, taken over in place so that focus, scrolling and open lines stay.
import { adopt } from "loopwright-workroom";

export default {
  template: "<div></div>",
  props: { html: String, name: String },
  mounted() {
    adopt(this.$el, this.html, this.name);
  },
  watch: {
    html(html) {
      adopt(this.$el, html, this.name);
    },
  },
};
